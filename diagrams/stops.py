"""The boxes of a decision graph as stops of a line: what comes before each, what leads down and to the right.

An end without cautions is no stop of its own: a copy of it stands wherever an answer leads to it,
which is easier to read than a reference to another page.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from comeback.diagrams.answers import downward
from comeback.diagrams.captions import Caption, Captions, Kind, within
from comeback.diagrams.phrases import AS_BEFORE
from comeback.engine.decision_graph import Box, DecisionGraph, Exit
from comeback.kb.vocabulary import SignalWord

SIGN = "▲"
"""Stands for the safety alert symbol; a NOTICE has none, since nobody gets hurt."""


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
    return tuple(_stop(box, captions) for box in graph.boxes if not is_copied(box, captions))


def is_copied(box: Box, captions: Captions) -> bool:
    """True for an end that is copied to wherever an answer leads to it."""
    return box.number > 1 and not box.exits and not captions.cautions(box.step)


def _stop(box: Box, captions: Captions) -> Stop:
    down = downward(captions.knowledge, box)
    sides = tuple(way for way in box.exits if way is not down)
    return Stop(box, captions.of(box), captions.cautions(box.step), down, sides)


def warnings(captions: Captions, names: Iterable[str], seen: dict[str, int], number: int) -> tuple[Caption, ...]:
    """Warning boxes before step `number`: in full the first time on a page, then one reminder for all.

    `seen` maps a caution to the step that it stood before on this page; it is added to.
    """
    new = [name for name in names if name not in seen]
    old = [name for name in names if name in seen]
    boxes = [_full(captions, name) for name in new]
    if old:
        boxes.append(_reminder(captions, old, max(seen[name] for name in old)))
    seen.update(dict.fromkeys(new, number))
    return tuple(boxes)


def _full(captions: Captions, name: str) -> Caption:
    caution = captions.knowledge.cautions[name]
    title = signal(caution.word)
    return Caption(Kind.WARNING, title, within(title, (caution.avoid, caution.consequence)))


def _reminder(captions: Captions, names: list[str], number: int) -> Caption:
    order = list(SignalWord)
    word = min((captions.knowledge.cautions[name].word for name in names), key=order.index)
    plain = ", ".join(name.replace("-", " ") for name in names)
    return Caption(Kind.WARNING, signal(word), (AS_BEFORE.format(number=number, names=plain),))


def signal(word: SignalWord) -> str:
    """The signal word with its symbol."""
    return word.value if word is SignalWord.NOTICE else f"{SIGN} {word.value}"
