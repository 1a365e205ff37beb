"""One guided conversation as an immutable value: its case, and the step that comes next.

A walk never changes. A response gives the drafts of the events that record it; the caller commits
them and asks for the walk after them. Undo is an event too, so it is never lost either.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from comeback.engine.case import facts
from comeback.engine.case.case import Case, further, read_case, standing, taken_back
from comeback.engine.case.events import CAN_BE_TAKEN_BACK, Draft, Event, Kind, chain
from comeback.engine.errors import CaseClosed, ImpossibleFindings, TooManyFindings
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.closing import take_one_back
from comeback.engine.walk.disposition import red_flag_floor
from comeback.engine.walk.phone_step import advise, after_advice
from comeback.engine.walk.policy import next_step
from comeback.engine.walk.remedies import settled
from comeback.engine.walk.steps import Advise, DangerScreen, MakeCheck, Step
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.vocabulary import Audience, Disposition

CHANGING = frozenset({Kind.SERVICE, Kind.COMPLAINT, Kind.CONDITION, Kind.ANSWERED, Kind.TAKEN_BACK, Kind.OVERRIDDEN})
"""Events after which the advice may differ from the one given."""


@dataclass(frozen=True)
class Walk:
    """Knowledge, the events so far, and for whom the next step is chosen."""

    knowledge: KnowledgeBase
    events: tuple[Event, ...]
    audience: Audience
    step_override: Step | None = None
    """A step to show instead of the next one; gone with the next event."""
    known: Case | None = field(default=None, compare=False, repr=False)
    """The case read from the events, where that was done before."""

    @cached_property
    def case(self) -> Case:
        """The case read from the events."""
        return self.known or read_case(self.events)

    @cached_property
    def step(self) -> Step:
        """What is asked: the step gone to, else what an earlier advice makes due, else what comes next."""
        return self.step_override or self._step_after_advice() or next_step(self.view)

    @cached_property
    def asked_after_advice(self) -> MakeCheck | None:
        """What only the customer knows and the bay wants most, once the caller knows what to do."""
        return after_advice(self.view)

    @cached_property
    def remedy(self) -> Check | None:
        """What the caller did alone and what settled the complaint, in this call or the last one."""
        solved = self.case.solved
        return self.knowledge.checks.get(solved.check) if solved else settled(self.view)

    @cached_property
    def view(self) -> CaseView:
        """The case seen through the knowledge."""
        return CaseView(self.knowledge, self.case, self.audience)

    def draft(self, fact: facts.Fact, at: str = "", by: str = "") -> Draft:
        """A draft of the event that says this. Raises CaseClosed if the case takes no more of that kind."""
        if self.case.closed is not None and not isinstance(fact, facts.Noted | facts.TakenBack):
            raise CaseClosed(f"Case {self.case.id} is closed. Open a new case, or add a note.")
        return fact.draft(at, by)

    def answers(self, results: Mapping[str, str | None], at: str = "", by: str = "", again: bool = False) -> Draft:
        """Draft of one or several checks answered on one screen; None is "don't know", `again` a second look."""
        return self.draft(facts.Answered(results, audience=self.audience, again=again), at, by)

    def last_to_take_back(self) -> Event | None:
        """The latest response of this audience that has not been taken back, if any."""
        gone = taken_back(self.events)
        for event in reversed(self.events):
            if event.kind == Kind.TAKEN_OVER and event.number not in gone:
                return None
            if event.kind in CAN_BE_TAKEN_BACK and event.number not in gone:
                return event
        return None

    def with_step(self, step: Step | None) -> "Walk":
        """The walk showing `step`; nothing is recorded. None returns to the next step."""
        return replace(self, step_override=step)

    def advice(self) -> Advise:
        """The advice that follows from what is known so far, with its grounds.

        Where findings exclude each other it is the floor under it, by the danger signs alone.
        """
        try:
            return advise(self.view)
        except (ImpossibleFindings, TooManyFindings):
            floor, flags = red_flag_floor(self.knowledge, self.view.results)
            return Advise(floor, floor, flags, {})

    def effective_advice(self, ruled: Disposition) -> Disposition:
        """The advice to give: the ruling, or what a person set instead of it.

        It is never milder than the advice given before, unless two people set that. Set to more
        urgent it stays the least advice; set to milder it holds until the ruling itself becomes more
        urgent than it was then.
        """
        least = max([ruled, *(Disposition.of(told.disposition) for told in self.case.told if told.ended)])
        told = least
        for override in self.case.overrides:
            then, to = Disposition.of(override.ruled), Disposition.of(override.to)
            if to >= then:
                told = max(least, to)
            elif least <= then:
                told = to
        return told

    @cached_property
    def advice_due(self) -> Disposition | None:
        """What the caller must still be told after the call ended: more urgent, or set by a person since."""
        case, last = self.case, self.case.last_told
        if last is None or case.closed is not None or not self.changed_since(last.number):
            return None
        now, then = self.effective_advice(self.advice().disposition), Disposition.of(last.disposition)
        by_hand = any(override.number > last.number for override in case.overrides)
        return now if now > then or (by_hand and now != then) else None

    def changed_since(self, number: int) -> bool:
        """True if an event that may change the advice came after event `number`."""
        return any(event.number > number and event.kind in CHANGING for event in reversed(self.events))

    def _step_after_advice(self) -> Step | None:
        """On the phone after an earlier advice: danger signs of a new call, then an advice that was not told yet."""
        case = self.case
        if self.audience is not Audience.PHONE or case.closed is not None or case.handed_over is not None:
            return None
        if self._raised_by_hand():
            return self.advice()
        if case.last_told is None or case.complaint is None:
            return None
        signs = self._signs_anew(case.last_told.number)
        if signs:
            return DangerScreen(signs)
        if self.advice_due is None:
            return None
        try:
            return self.advice() if self.view.ruling else None
        except ImpossibleFindings:  # a danger sign goes before the riddle
            then = Disposition.of(case.last_told.disposition)
            return self.advice() if self.advice_due > then else take_one_back(self.view)
        except TooManyFindings:
            return self.advice()

    def _raised_by_hand(self) -> bool:
        """True if a person set it as high as a tow, or higher, and no call ended with that yet."""
        last, told = self.case.overrides[-1:], self.case.last_told
        return any(
            override.number > (told.number if told else 0)
            and Disposition.of(override.to) >= max(Disposition.TOW, Disposition.of(override.ruled))
            for override in last
        )

    def _signs_anew(self, told: int) -> tuple[str, ...]:
        """Danger signs that nobody answered since the caller called again, or since the complaint is another."""
        case = self.case
        other = any(e.kind in (Kind.SERVICE, Kind.COMPLAINT) and e.number > told for e in standing(self.events))
        if not (case.again or other):
            return ()
        signs = (sign for sign in self.view.signs if sign not in self.view.stated)
        return tuple(sign for sign in signs if self._asked_here(sign) and not self._answered_since(sign, case.again))

    def _asked_here(self, sign: str) -> bool:
        """True if this car and this audience can be asked about the sign."""
        return sign in self.view.network.observables and self.audience in self.knowledge.checks[sign].audience

    def _answered_since(self, sign: str, number: int) -> bool:
        """True if the sign was answered at event `number` or later."""
        answer = self.case.answer(sign)
        return answer is not None and answer.number >= number

    def after(self, recorded: Iterable[Event]) -> "Walk":
        """The walk with these events at the end."""
        new = tuple(recorded)
        return replace(self, events=(*self.events, *new), step_override=None, known=further(self.case, new))

    def imagine(self, fact: facts.Fact | Draft) -> "Walk":
        """The walk as it would be after an event that says this, without recording anything. Raises CaseClosed."""
        draft = fact if isinstance(fact, Draft) else self.draft(fact)
        previous = self.events[-1].hash if self.events else ""
        name = self.events[0].case if self.events else "-"
        return self.after([chain(name, len(self.events) + 1, draft, self.knowledge.version, previous)])


def begin_walk(knowledge: KnowledgeBase, service: str, complaint: str, audience: Audience) -> Walk:
    """An imagined walk with its service and complaint (empty: none) known, of a car that the knowledge covers."""
    walk = open_walk(knowledge, audience, car="gasoline").imagine(facts.ServiceNamed(service))
    return walk.imagine(facts.ComplaintNamed(complaint)) if complaint else walk


def open_walk(knowledge: KnowledgeBase, audience: Audience, car: str = "") -> Walk:
    """An imagined walk with nothing but its opening, for charts, drills and tests."""
    empty = Walk(knowledge, (), audience)
    return empty.imagine(facts.Opened(car, audience))
