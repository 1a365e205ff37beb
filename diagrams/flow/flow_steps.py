"""The boxes of a decision graph as stops of a line: what comes before each, what leads down and to the right.

An end without cautions is no stop of its own: a copy of it stands wherever an answer leads to it,
which is easier to read than a reference to another page.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from comeback.diagrams.paper.answers import downward
from comeback.diagrams.paper.captions import Caption, Captions
from comeback.diagrams.paper.hazards import cautions, gravest_first
from comeback.engine.charts.decision_graph import Box, DecisionGraph, Exit
from comeback.kb.vocabulary import Audience


@dataclass(frozen=True)
class Stop:
    """A box in the left column: cautions before it, the exit at its bottom, the exits at its right."""

    box: Box
    caption: Caption
    cautions: tuple[str, ...]
    down: Exit | None
    sides: tuple[Exit, ...]

    @property
    def number(self) -> int:
        """The step number."""
        return self.box.number


def stops(graph: DecisionGraph, captions: Captions) -> tuple[Stop, ...]:
    """All stops in the order of their numbers."""
    return tuple(_stop(box, captions, graph.complaint) for box in graph.boxes if not is_copied(box, captions))


def _of_complaint(captions: Captions, complaint: str) -> Iterator[str]:
    """In the bay the cautions of the danger sign that the complaint itself is, as a hard brake pedal."""
    if captions.audience is Audience.BAY:
        for name, result in captions.knowledge.complaints[complaint].reports.items():
            check = captions.knowledge.checks[name]
            yield from check.cautions if result in check.red_flag else ()


def is_copied(box: Box, captions: Captions) -> bool:
    """True for an end that is copied to wherever an answer leads to it."""
    return box.number > 1 and not box.exits and not cautions(captions, box.step)


def _stop(box: Box, captions: Captions, complaint: str) -> Stop:
    down = downward(captions.knowledge, box)
    sides = tuple(way for way in box.exits if way is not down)
    needed = cautions(captions, box.step)
    if box.number == 1:
        needed = gravest_first(captions.knowledge, (*needed, *_of_complaint(captions, complaint)))
    return Stop(box, captions.of(box, bool(needed)), needed, down, sides)
