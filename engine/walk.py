"""One guided conversation as an immutable value: its case, and the step that comes next.

A walk never changes. A response gives the drafts of the events that record it; the caller commits
them and asks for the walk after them. Undo is an event too, so it is never lost either.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from comeback.engine import case as events
from comeback.engine.case import Case, Draft, Event, chain, further, read_case
from comeback.engine.errors import CaseClosed
from comeback.engine.policy import next_step
from comeback.engine.situation import Situation
from comeback.engine.steps import Advise, Step
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience, Disposition


@dataclass(frozen=True)
class Walk:
    """Knowledge, the events so far, and for whom the next step is chosen."""

    knowledge: KnowledgeBase
    events: tuple[Event, ...]
    audience: Audience
    asked: Step | None = None
    """A step that somebody went to instead of the next one; gone with the next event."""
    known: Case | None = field(default=None, compare=False, repr=False)
    """What the events amount to, where that was read before."""

    @cached_property
    def case(self) -> Case:
        """What the events amount to."""
        return self.known or read_case(self.events)

    @cached_property
    def step(self) -> Step:
        """What is asked: the step gone to, else what comes next."""
        return self.asked or next_step(self.knowledge, self.case, self.audience)

    @cached_property
    def situation(self) -> Situation:
        """The case seen through the knowledge."""
        return Situation(self.knowledge, self.case, self.audience)

    def draft(self, kind: str, at: str, by: str, /, **payload: Any) -> Draft:
        """A draft of an event. Raises CaseClosed if the case takes no more of that kind."""
        if self.case.closed is not None and kind not in (events.NOTED, events.TAKEN_BACK):
            raise CaseClosed(f"Case {self.case.id} is closed. Open a new case, or add a note.")
        return Draft(kind, at, by, payload)

    def answers(
        self,
        results: Mapping[str, str | None],
        at: str,
        by: str,
        readings: Mapping[str, str] | None = None,
        again: bool = False,
    ) -> Draft:
        """Draft of one or several checks answered on one screen; None is "don't know", `again` a second look."""
        second = {"again": True} if again else {}
        return self.draft(
            events.ANSWERED,
            at,
            by,
            results=dict(results),
            readings=dict(readings or {}),
            audience=self.audience.value,
            **second,
        )

    def last_to_take_back(self) -> Event | None:
        """The latest response of this audience that has not been taken back, if any."""
        gone = {event.payload["number"] for event in self.events if event.kind == events.TAKEN_BACK}
        for event in reversed(self.events):
            if event.kind == events.TAKEN_OVER and event.number not in gone:
                return None
            if event.kind in events.CAN_BE_TAKEN_BACK and event.number not in gone:
                return event
        return None

    def at(self, step: Step | None) -> "Walk":
        """The walk gone to `step`; nothing is recorded. None returns to what comes next."""
        return replace(self, asked=step)

    def advice(self) -> Advise:
        """The advice that follows from what is known so far, with its grounds."""
        ruling = self.situation.ruling
        return Advise(ruling.advice, ruling.floor, ruling.flags, ruling.needed)

    def told(self, ruled: Disposition) -> Disposition:
        """What the caller is told: the ruling, or what a person set instead of it.

        Set to more urgent it stays the least that is told; set to milder it holds until the ruling
        itself becomes more urgent than it was then.
        """
        told = ruled
        for override in self.case.overrides:
            then, to = Disposition.of(override.ruled), Disposition.of(override.to)
            if to > then:
                told = max(ruled, to)
            elif ruled <= then:
                told = to
        return told

    def after(self, recorded: Iterable[Event]) -> "Walk":
        """The walk with these events at the end."""
        new = tuple(recorded)
        return replace(self, events=(*self.events, *new), asked=None, known=further(self.case, new))

    def imagine(self, draft: Draft) -> "Walk":
        """The walk as it would be after `draft`, without recording anything."""
        previous = self.events[-1].hash if self.events else ""
        name = self.events[0].case if self.events else "-"
        return self.after([chain(name, len(self.events) + 1, draft, self.knowledge.version, previous)])


def open_walk(knowledge: KnowledgeBase, audience: Audience, at: str = "", by: str = "", car: str = "") -> Walk:
    """An imagined walk with nothing but its opening, for charts, drills and tests."""
    empty = Walk(knowledge, (), audience)
    return empty.imagine(Draft(events.OPENED, at, by, {"car": car, "audience": audience.value}))
