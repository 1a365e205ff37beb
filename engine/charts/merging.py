"""From a grown tree to what paper says: ends that say alike, questions that tell nothing left out, equal parts merged.

Two parts are equal only if their steps, answers and everything after them are the same. An end may say
what another answer of the same question says if that serves nearly as many of the cars that come to it.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from math import inf

from comeback.engine.charts.dangers import CUT, DANGER, FULL, OFF, ROWS, said
from comeback.engine.charts.ends import NOTHING, Settled, TryInOrder
from comeback.engine.charts.growth import NONE_OF_THESE, SEVERAL, PaperStep, Place
from comeback.engine.walk.steps import (
    Advise,
    CloseCase,
    DangerScreen,
    DoRepair,
    HandOver,
    MakeCheck,
    ProveRepair,
    ReadPanel,
)
from comeback.kb.vocabulary import Audience, Disposition

ENDS_OF_PAPER = (CUT, FULL, DANGER, OFF, ROWS)
"""Ends at which the chart stops without naming a repair, but the program would go on."""
ALIKE = 0.004
"""Share of all cases that an end may lose by saying the same as another answer."""
SERVED = 0.25
"""An end that serves less of the cars that come to it than this is none: better to say that it is not charted.
Judged.
"""
AS_WELL = 0.8
"""Share of what an answer's own end serves that the end of another answer must serve to stand for it; judged."""

AFTER_A_SIGN = 10.0
"""How many times as much a card counts at the end of a danger sign: there is nothing else to go by."""
LEADING = 2
"""Ends with these first repairs in common may say alike."""


@dataclass(frozen=True)
class Ends:
    """Most different ends of one check, of a panel, and after danger signs: more do not fit on a page beside it."""

    check: int = 4
    panel: int = 24
    danger: int = 10

    def of(self, step: PaperStep) -> int:
        """The most for this step."""
        match step:
            case DangerScreen():
                return self.danger
            case ReadPanel():
                return self.panel
            case _:
                return self.check


@dataclass
class Tree:
    """What paper says at a place and below it; equal trees have equal keys.

    `rows`: where several answers of a panel lead, the repairs that each of them leads to.
    """

    step: PaperStep
    place: Place
    exits: list[tuple[str, float, "Tree"]] = field(default_factory=list)
    key: int = 0
    rows: dict[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def reach(self) -> float:
        """Share of cases that come here."""
        return self.place.reach

    def settled(self, others: Collection[str] = ()) -> Settled:
        """For whom the end is right, if the chart has cards of `others` too; nobody if it is no end."""
        if self.exits:
            return NOTHING
        if isinstance(self.step, TryInOrder) and self.place.outcomes:
            return self.place.outcomes.settled(self.step.every, self.step.others(others))
        if self.step == ROWS and self.place.outcomes:
            return self.place.outcomes.by_rows(self.rows, self.place.shown, others)
        if self.step in (CUT, OFF) and self.place.outcomes:  # handing over is right for those whom no repair here cures
            handed = self.place.outcomes.settled(()).handed
            return Settled(0.0, handed, handed)
        return NOTHING if self.step in ENDS_OF_PAPER else self.place.settled

    def minutes(self, others: Collection[str] = ()) -> float:
        """Minutes of an average case from here on, by the planner's prices, times the share of cases that come here."""
        if self.exits:
            own = getattr(self.step, "minutes", 0.0)
            return self.reach * float(own) + sum(child.minutes(others) for _, _, child in self.exits)
        if isinstance(self.step, TryInOrder) and self.place.outcomes:
            return self.reach * self.place.outcomes.minutes(self.step.every, self.step.others(others))
        return self.reach * (1 - self.settled().repaired) * self.place.walk.knowledge.settings.hand_over_minutes

    def cards(self) -> frozenset[str]:
        """Every repair that an end below names."""
        return frozenset(r for end in self.ends() if isinstance(end.step, TryInOrder) for r in end.step.every)

    def ends(self) -> Iterator["Tree"]:
        """All ends below."""
        if not self.exits:
            yield self
        for _, _, child in self.exits:
            yield from child.ends()


def is_end_of_paper(step: PaperStep) -> bool:
    """True where the chart stops though the program would go on."""
    return step in ENDS_OF_PAPER or isinstance(step, TryInOrder)


def merged(
    root: Place,
    among: Collection[str] | None = None,
    ends: Ends | None = None,
    signs: Mapping[str, tuple[str, ...]] | None = None,
) -> Tree:
    """The tree as paper says it; its ends name only repairs `among` the given ones.

    `signs`: repairs by the answer, as check:result, that is the sign on their card; rare answers lead there.
    """
    tree = _told(root, among, ends or Ends())
    if root.walk.audience is Audience.BAY:
        _by_sign(tree, signs or {})
    _keyed(tree, {})
    return tree


def _by_sign(tree: Tree, signs: Mapping[str, tuple[str, ...]]) -> None:
    """What is not charted, but is the very sign on a card, leads to that card."""
    for label, _, child in tree.exits:
        answer = f"{tree.step.check}:{label}" if isinstance(tree.step, MakeCheck) else label
        if child.step == CUT and isinstance(tree.step, MakeCheck | ReadPanel) and answer in signs:
            child.step = _allowed(child.place, signs[answer])
        _by_sign(child, signs)


def _allowed(place: Place, repairs: tuple[str, ...]) -> PaperStep:
    """The repairs in order, but none that a sign forbids to drive or to run for; not charted, if none is left."""
    view, off = place.walk.view, place.warned.engine_off
    known, barred = view.knowledge.repairs, view.not_driven
    kept = (name for name in repairs if not (known[name].drives and barred))
    left = tuple(name for name in kept if not (off and view.runs_engine(name)))
    return TryInOrder(left, engine_off=off) if left else CUT


def worth_naming(root: Place) -> dict[str, float]:
    """Share of all cases that a card of each repair settles, over the ends as they were grown: named or looked at."""
    worth: dict[str, float] = {}
    waiting = [root]
    while waiting:
        place = waiting.pop()
        waiting += [child for _, _, child in place.exits]
        if place.exits or place.outcomes is None:
            continue
        later = {} if place.warned.engine_off else place.outcomes.later(tuple(place.named))
        for name, gain in (*place.named.items(), *later.items()):
            weight = AFTER_A_SIGN if place.warned.signs else 1.0
            worth[name] = worth.get(name, 0.0) + weight * place.reach * gain
    return worth


def _told(place: Place, among: Collection[str] | None, ends: Ends) -> Tree:
    if place.step is None or not place.exits:
        return Tree(_end(place, among), place)
    exits = [(label, chance, _told(child, among, ends)) for label, chance, child in place.exits]
    _say_alike(
        [c for label, _, c in exits if not c.exits and not _stands_alone(place.step, label)], ends.of(place.step)
    )
    _row_by_row(exits)
    if all(_sends_away(child.step) for _, _, child in exits):  # nothing is asked on paper, and nothing is more urgent
        return Tree(exits[0][2].step, replace(place, settled=Settled(1.0, 0.0, 1.0)))
    if not isinstance(place.step, DangerScreen) and _not_worth_asking(place, [child for _, _, child in exits]):
        return Tree(_end(place, among), place)
    return Tree(place.step, place, _in_reading_order(place.step, exits))


def _sends_away(step: PaperStep) -> bool:
    """True if people are told to get away from the car."""
    return isinstance(step, Advise) and step.disposition is Disposition.GET_CLEAR


def _in_reading_order(step: PaperStep, exits: list[tuple[str, float, Tree]]) -> list[tuple[str, float, Tree]]:
    """The answers of a panel: none of them, those that lead to repairs, those that are not charted, several.

    Danger signs by phone: those with the gravest advice first.
    """
    if isinstance(step, DangerScreen):
        return sorted(exits, key=_gravest_first)
    if not isinstance(step, ReadPanel):
        return exits

    def rank(answer: tuple[str, float, Tree]) -> int:
        label, _, child = answer
        return 0 if label == NONE_OF_THESE else 3 if label == SEVERAL else 2 if child.step in ENDS_OF_PAPER else 1

    return sorted(exits, key=rank)


def _gravest_first(answer: tuple[str, float, Tree]) -> float:
    label, _, child = answer
    if label == NONE_OF_THESE:
        return -inf
    return -child.step.disposition if isinstance(child.step, Advise) else 0.0


def _stands_alone(step: PaperStep, label: str) -> bool:
    """What is as it should be on a whole panel leads down by itself; several answers lead to the rows of each."""
    return isinstance(step, ReadPanel) and label in (NONE_OF_THESE, SEVERAL)


def _row_by_row(exits: list[tuple[str, float, Tree]]) -> None:
    """Several answers of a panel lead to the repairs of each of them, once it is known what those say."""
    rows = {label: child.step.every for label, _, child in exits if isinstance(child.step, TryInOrder)}
    for label, _, child in exits:
        if label == SEVERAL and child.place.shown and rows:
            child.step, child.rows = ROWS, {name: rows[name] for name in rows if name in child.place.shown}


def _end(place: Place, among: Collection[str] | None) -> PaperStep:
    """What paper says at a place where it stops, with repairs off the list left out."""
    if place.step is not None and not place.exits:
        return place.step
    end = place.end
    if place.outcomes is None or not isinstance(end, TryInOrder):
        return end
    if among is None or set(end.every) <= set(among):
        return end
    end = said(place.outcomes, place.warned, place.most, among)[0]
    warned = bool(place.warned.signs or place.warned.engine_off)
    if isinstance(end, TryInOrder) and not warned and place.outcomes.settled(end.every).share < SERVED:
        return place.warned.bare
    return end


def _say_alike(ends: list[Tree], most: int) -> None:
    """Ends of one question that lose next to nothing say what a likelier one says; `most` different ones stay."""
    kept: list[Tree] = []
    for end in sorted(ends, key=lambda end: -end.reach):
        if not isinstance(end.step, TryInOrder):
            continue
        found = next((other for other in kept if _as_good(end, other.step)), None)
        if found is None and len(kept) == most and end.step.danger:
            end.step = end.place.warned.bare  # another sign's repairs may be quite wrong for this one
            continue
        if found is None and len(kept) == most:
            found = max(kept, key=lambda other: _served(end, other.step))
            own = max(SERVED, AS_WELL * _served(end, end.step))
            if end.place.warned.engine_off is None and _served(end, found.step) < own:
                end.step = end.place.warned.bare
                continue
            found = found if _served(end, found.step) >= 0 else None
        if found is None:
            kept.append(end)
        else:
            end.step = found.step


def _as_good(end: Tree, other: PaperStep) -> bool:
    """True if the end of another answer serves nearly as many of the cars that come to this one."""
    own, there = end.step, end.place.outcomes
    if not isinstance(own, TryInOrder) or not isinstance(other, TryInOrder) or there is None:
        return False
    if own.danger or other.danger or own.engine_off != other.engine_off:
        return own == other  # a repair that has nothing to do with the sign is not named
    if own.every[:LEADING] != other.every[:LEADING]:
        return False  # which repairs to try first is what the question was asked for
    lost = there.settled(own.every).share - there.settled(other.every).share
    return end.reach * lost <= ALIKE


def _served(end: Tree, other: PaperStep) -> float:
    """Share of the cars that come to an end which another one would serve."""
    there = end.place.outcomes
    if there is None or not isinstance(other, TryInOrder) or not isinstance(end.step, TryInOrder):
        return 0.0
    if other.danger or end.step.danger or other.engine_off != end.step.engine_off:
        return -1.0
    return there.settled(other.every).share


def _not_worth_asking(place: Place, children: list[Tree]) -> bool:
    """True if every answer ends alike, so that the question tells nothing."""
    if place.outcomes is None or any(child.exits or not is_end_of_paper(child.step) for child in children):
        return False
    return len({child.step for child in children if isinstance(child.step, TryInOrder)}) <= 1


def _keyed(tree: Tree, keys: dict[tuple[object, ...], int]) -> None:
    """Equal steps with equal continuations get the same key, from the leaves up."""
    for _, _, child in tree.exits:
        _keyed(child, keys)
    content = (_signature(tree.step), *((label, child.key) for label, _, child in tree.exits))
    tree.key = keys.setdefault(content, len(keys))


def _signature(step: PaperStep) -> tuple[object, ...]:
    """What a reader sees of a step; predicted numbers do not keep equal continuations apart."""
    match step:
        case MakeCheck(check=check, set_up=set_up, again=again):
            return ("check", check, set_up, again, step.despite)
        case DoRepair(repair=repair):
            return ("repair", repair, step.despite)
        case ReadPanel(panel=panel, checks=checks, set_up=set_up):
            return ("panel", panel, checks, set_up, step.despite)
        case Advise(disposition=disposition, first=first):
            return ("advise", disposition, first)
        case CloseCase(causes=causes, repairs=repairs, proven=proven):
            return ("close", causes, repairs, proven)
        case HandOver() | ProveRepair() | DangerScreen() | TryInOrder():
            return (type(step).__name__, step)
        case _:
            return (type(step).__name__, str(step))
