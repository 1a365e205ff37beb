"""The record of a case as one typed value, of which every screen, page and file is made."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from comeback.cli.screens.advice_now import AdviceNow, advice_now, state_of
from comeback.cli.screens.event_text import answer_text, codes_typed, driving_text, event_text, findings
from comeback.cli.screens.spoken import signs_in
from comeback.cli.screens.summary import Standing, standing_of
from comeback.engine.case.case import Case, Told, read_case, standing
from comeback.engine.case.events import Event, Kind, first_broken_link
from comeback.engine.case.facts import Driving, Opened, TakenBack, TakenOver, fact_of
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

ALL_OF_THEM = 99
NOT_ASKED = "not asked"


@dataclass(frozen=True)
class Line:
    """What happened: when (ISO 8601), by whom, in words."""

    at: str
    by: str
    text: str


@dataclass(frozen=True)
class Sign:
    """A danger sign, its answer in words, and if it was there; `named`: who named it later, against the answer."""

    check: str
    name: str
    answer: str
    raised: bool
    named: tuple[Line, ...] = ()


@dataclass(frozen=True)
class Person:
    """A person who worked on the case: name, phone or bay, first and last time."""

    name: str
    role: Audience
    first: str
    last: str


@dataclass(frozen=True)
class Record:
    """All that the events of a case tell, in the words of the present knowledge; ids that are gone stand as they are.

    Nothing that was not asked is left out: see `NOT_ASKED`.
    """

    knowledge: KnowledgeBase
    events: Sequence[Event]

    @cached_property
    def case(self) -> Case:
        """The case read from its events."""
        return read_case(self.events)

    @cached_property
    def now(self) -> AdviceNow:
        """How far the advice got."""
        return advice_now(self.knowledge, self.events)

    @cached_property
    def walk(self) -> Walk:
        """The case seen by those who had it last."""
        return Walk(self.knowledge, tuple(self.events), self.case.audience)

    @cached_property
    def standing(self) -> Standing:
        """Every cause and every check in its group."""
        return standing_of(self.walk)

    @property
    def status(self) -> str:
        """`final` once the case is closed, handed over or solved on the phone, until then `draft`."""
        ended = (self.case.closed, self.case.handed_over, self.case.solved)
        return "final" if any(end is not None for end in ended) else "draft"

    @property
    def state(self) -> str:
        """Where the case stands, in a few words."""
        return state_of(self.case, self.now, self.case.opened_at)

    @property
    def shop(self) -> str:
        """The shop whose case it is; empty if none was set."""
        return opened.shop if isinstance(opened := fact_of(self.events[0]), Opened) else ""

    @property
    def intact(self) -> bool:
        """False if an event is not as it was written."""
        return first_broken_link(self.events) is None

    @property
    def versions(self) -> list[str]:
        """The versions of the knowledge that it was recorded with."""
        return sorted({event.knowledge for event in self.events})

    def name(self, kind: str, entry: str) -> str:
        """Name of an entry (`kind`: `checks`, `repairs` ...); its id if the knowledge no longer has it."""
        known: Mapping[str, Any] = getattr(self.knowledge, kind)
        return str(known[entry].name) if entry in known else entry

    @cached_property
    def people(self) -> tuple[Person, ...]:
        """The people who worked on the case, in order of their first entry."""
        people: dict[tuple[str, Audience], list[str]] = {}
        role = Audience.PHONE
        for event in self.events:
            match fact_of(event):
                case Opened(audience=audience):
                    role = audience
                case TakenOver():
                    role = Audience.BAY
            people.setdefault((event.by, role), []).append(event.at)
        return tuple(Person(name, role, at[0], at[-1]) for (name, role), at in people.items())

    @cached_property
    def driving(self) -> str:
        """Each answer to whether the caller was driving, with its time if there are several."""
        facts = ((event.at, fact_of(event)) for event in standing(self.events))
        said = [(at[11:16], driving_text(fact.driving)) for at, fact in facts if isinstance(fact, Driving)]
        if len(said) < 2:
            return said[0][1] if said else NOT_ASKED
        return "; ".join(f"{text} ({at})" for at, text in said)

    @cached_property
    def signs(self) -> tuple[Sign, ...]:
        """Every danger sign asked first, and any other that was there, with its answer, the negatives too."""
        checks, case, stated = self.knowledge.checks, self.case, self.walk.view.stated
        found: dict[str, str | None] = {**stated}
        for answer in case.answers:  # as it was before any repair: what proves a repair stands with the findings
            if answer.epoch == 0 or answer.check not in found:
                found[answer.check] = answer.result
        others = [check for check, result in found.items() if check in checks and result in checks[check].red_flag]
        named: dict[str, list[Line]] = {}
        for made in case.overrides if case.complaint is not None else ():
            for sign in signs_in(self.walk, made.reason):
                named.setdefault(sign, []).append(Line(made.at, made.by, made.reason))
        asked = dict.fromkeys((*self.walk.view.listed_signs, *self.knowledge.follow_ups(found), *others, *named))
        signs = []
        for check in asked:
            asked_first = case.answer(check, 0) or (None if check in stated else case.answer(check))
            result, reading = found.get(check), asked_first.reading if asked_first else ""
            text = answer_text(self.knowledge, check, result, reading) if check in found else NOT_ASKED
            entry = checks[check]
            signs.append(Sign(check, entry.name, text, result in entry.red_flag, tuple(named.get(check, ()))))
        return tuple(signs)

    @cached_property
    def work(self) -> tuple[Line, ...]:
        """What was found and what was done, in order: a repair stands before what proves it."""
        shown = findings(self.knowledge, self.case.answers, codes_typed(self.events))
        found = [(first.number, Line(first.at, first.by, text)) for (first, *_), text in shown]
        by_phone = {event.number for event in self.events if event.kind == Kind.SOLVED}
        for done in self.case.repairs:
            how = "solved on the phone, for" if done.number in by_phone else "repaired"
            found.append((done.number, Line(done.at, done.by, f"{how}: {self.name('repairs', done.repair)}")))
        found += [(e.number, Line(e.at, e.by, f"not done: {self.name('repairs', e.payload['repair'])}"))
                  for e in self.skipped]  # fmt: skip
        for event in (event for event in self.events if event.kind == Kind.EVIDENCE):
            codes = sorted({code for told in event.payload.get("codes", {}).values() for code in told})
            text = f"saved from the car: {', '.join(codes) or 'no codes'}"
            found.append((event.number, Line(event.at, event.by, text)))
        order = {event.number: place for place, event in enumerate(standing(self.events))}
        return tuple(line for _, line in sorted(found, key=lambda pair: order[pair[0]]))

    @cached_property
    def skipped(self) -> tuple[Event, ...]:
        """Repairs that somebody passed over and nobody did later: nobody may take them for done."""
        done = {one.repair: one.number for one in self.case.repairs}
        passed = (e for e in standing(self.events) if e.kind == Kind.SKIPPED)
        return tuple(e for e in passed if done.get(e.payload["repair"], 0) < e.number)

    @cached_property
    def changes(self) -> tuple[tuple[Event, str, str], ...]:
        """The events that took an answer back or corrected it, with the old answer in words, and why."""
        numbered = {event.number: event for event in self.events}
        return tuple(
            (event, event_text(self.knowledge, numbered[fact.number], ALL_OF_THEM), fact.why or "back")
            for event in self.events
            if isinstance(fact := fact_of(event), TakenBack)
        )

    def said_aloud(self, told: Told) -> list[str]:
        """The sentences that were read out for this advice."""
        for event in reversed([event for event in self.events if event.number <= told.number]):
            data = event.payload
            if told.disposition in (data.get("disposition"), data.get("stop")) and data.get("said"):
                return list(data["said"])
        return []
