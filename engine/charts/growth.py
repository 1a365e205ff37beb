"""Growing the tree of a chart: the place where stopping would cost the most minutes is asked about next.

Where growing stops, an end of paper stands: the repairs to try in order (`paper_ends`, `paper_dangers`),
the advice to the caller so far, or, where even that is too rare to print, handing over.
"""

import heapq
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import count

import numpy as np

from comeback.engine.belief.cause_sets import CauseSets
from comeback.engine.belief.network import Vector
from comeback.engine.belief.predictions import predict
from comeback.engine.case.events import Kind
from comeback.engine.charts.dangers import CUT, DANGER, FULL, OFF, ROWS, Sign, Warned, red_signs, said, warned
from comeback.engine.charts.ends import (
    NAMED,
    NAMED_OF_MANY,
    NOTHING,
    Outcomes,
    Settled,
    TryInOrder,
)
from comeback.engine.charts.looks import Looks
from comeback.engine.charts.outcomes import outcomes
from comeback.engine.errors import ImpossibleFindings, TooManyFindings
from comeback.engine.walk.closing import proof_due
from comeback.engine.walk.steps import (
    Advise,
    ChooseCondition,
    CloseCase,
    DangerScreen,
    DoRepair,
    Finished,
    HandOver,
    MakeCheck,
    ProveRepair,
    ReadPanel,
    Step,
    TakeOneBack,
)
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

DONE, NONE_OF_THESE, UNKNOWN, SEVERAL = "done", "none", "unknown", "several"

__all__ = [
    "CUT", "DANGER", "DONE", "FULL", "NONE_OF_THESE", "OFF", "ROWS", "SEVERAL", "UNKNOWN", "Growth", "Limits",
    "PaperStep", "Place", "responses",
]  # fmt: skip

PaperStep = Step | TryInOrder
"""What a box of a chart holds: a step of the walk, or an end of paper."""


@dataclass(frozen=True)
class Limits:
    """Where growing stops.

    A place is asked about if stopping there costs `worth` minutes or more of an average case, is not
    deeper than `deep`, and the tree has less than `boxes` questions and repairs. A place that fewer than
    `rare` of the cases reach ends in a hand-over; elsewhere an end names up to `named` repairs.
    """

    worth: float = 0.5
    deep: int = 24
    boxes: int = 24
    rare: float = 0.002
    named: int = NAMED


@dataclass
class Place:
    """A place of the tree: the walk there, the share of cases that reach it, and what paper says if it stops here.

    `named`: the repairs of the end, at most `most`, and the share of the cars here that each adds. `proving`: a
    repair was done whose proof is not known yet, so that paper may not stop here. `warned`: what stands against
    going on. `shown`: for several answers of a panel at once, the chance of each for each set of causes (S,). `step`
    is set once the place is asked about; then `exits` are its answers, chances, what follows.
    """

    walk: Walk
    reach: float
    depth: int
    end: PaperStep
    settled: Settled
    outcomes: Outcomes | None = None
    named: Mapping[str, float] = field(default_factory=dict)
    most: int = NAMED
    warned: Warned = field(default_factory=Warned)
    proving: bool = False
    shown: Mapping[str, Vector] = field(default_factory=dict)
    step: Step | None = None
    exits: list[tuple[str, float, "Place"]] = field(default_factory=list)


class Growth:
    """A tree that grows as far as asked, the costliest gap first; so a smaller chart is part of a larger one."""

    def __init__(self, walk: Walk, limits: Limits) -> None:
        self.limits, self.made = limits, 0
        self.looks = Looks(walk.knowledge, walk.case.service or "", walk.case.complaint or "")
        self.root = Place(walk, 1.0, 0, CUT, NOTHING)
        self._order = count()
        self._waiting: list[tuple[float, int, Place]] = [(-np.inf, next(self._order), self.root)]

    def grow(self, boxes: int) -> bool:
        """Grow to this many questions and repairs; False if nothing more is worth asking.

        Danger signs, the first question after them and the proof of a repair come in any case.
        """
        while self._waiting and (self._waiting[0][0] == -np.inf or self.made < min(boxes, self.limits.boxes)):
            cost, _, place = heapq.heappop(self._waiting)
            if -cost < self.limits.worth:
                self._waiting.clear()
            elif place.depth <= self.limits.deep:
                self._open(place)
        return bool(self._waiting) and self.made < self.limits.boxes

    def _open(self, place: Place) -> None:
        step = place.walk.step
        if isinstance(step, Advise | CloseCase | HandOver | Finished):
            place.step, place.settled = step, _as_program(step)
            return
        if isinstance(step, TakeOneBack) or place.warned.forbids(step):
            return
        place.step, self.made = step, self.made + 1
        screen = isinstance(step, DangerScreen)
        for label, chance, after in responses(place.walk):
            signs = _signs(place.walk, step, label)
            few = screen and label != NONE_OF_THESE
            child = self._place(_bare(after, place, chance, signs, few))
            place.exits.append((label, chance, child))
            cost = np.inf if screen and label == NONE_OF_THESE else self._cost(child)
            if cost >= self.limits.worth:
                heapq.heappush(self._waiting, (-cost, next(self._order), child))
        if isinstance(step, DangerScreen | ReadPanel) and len(step.checks) > 1:
            place.exits.append(self._several(place, step))

    def _several(self, place: Place, step: DangerScreen | ReadPanel) -> tuple[str, float, Place]:
        """Two or more abnormal results of one screen: an end, since paper cannot ask which."""
        danger = isinstance(step, DangerScreen)
        chance = max(0.0, 1 - sum(chance for _, chance, _ in place.exits))
        child = _bare(place.walk, place, chance, red_signs(place.walk.knowledge, step.checks) if danger else (), True)
        if danger and place.walk.audience is Audience.PHONE:
            _gravest(child, [sign.end for label, _, sign in place.exits if label != NONE_OF_THESE])
        if child.reach >= self.limits.rare and self.limits.named and place.walk.audience is Audience.BAY:
            checks = place.walk.knowledge.checks
            signs = [name for name, _ in child.warned.signs if checks[name].engine_off]
            here = outcomes(place.walk, self.looks, signs)
            if here:
                sets = place.walk.view.sets  # all causes of a set show, those too that are not complained of
                several = several_chance(place.walk, sets, step.checks)
                self._say(child, here.given(several))
                child.shown = {} if danger else each_of_several(place.walk, sets, step.checks, several)
        return SEVERAL, chance, child

    def _place(self, bare: Place) -> Place:
        """A new place with what paper would say there."""
        walk = bare.walk
        phone = walk.audience is Audience.PHONE
        if bare.reach < self.limits.rare and not (phone and bare.warned.signs):  # a caller's danger sign is advised on
            return bare
        pending = proof_due(walk.view) if walk.audience is Audience.BAY else None
        if isinstance(pending, CloseCase):
            bare.step, bare.settled = pending, _as_program(pending)
            return bare
        bare.proving = isinstance(pending, ProveRepair)
        if phone:
            return _advised(bare)
        if self.limits.named:
            self._say(bare, outcomes(walk, self.looks))
        return bare

    def _say(self, place: Place, there: Outcomes | None) -> None:
        """Name the repairs to try where paper stops here."""
        if there is not None:
            place.outcomes = there
            place.end, place.named = said(there, place.warned, min(self.limits.named, place.most))
            place.settled = there.settled(place.end.every if isinstance(place.end, TryInOrder) else ())

    def _cost(self, place: Place) -> float:
        """Minutes that stopping here costs an average case: hand-overs that a repair could have spared, and detours."""
        if place.step is not None or place.warned.stops:
            return 0.0
        if place.proving:
            return np.inf
        if place.outcomes is None:
            return place.reach * (1 - place.settled.share) * place.walk.knowledge.settings.hand_over_minutes
        every = [action.id for action in place.outcomes.actions]
        named = place.end.every if isinstance(place.end, TryInOrder) else ()
        others = () if place.warned.engine_off else every
        return place.reach * max(0.0, place.outcomes.minutes(named, others) - place.outcomes.bound())


def _signs(walk: Walk, step: Step, label: str) -> Sequence[Sign]:
    """The danger sign that this answer is, if it is one."""
    if not isinstance(step, DangerScreen) or label == NONE_OF_THESE:
        return ()
    check, _, result = label.partition(":")
    return [
        sign for sign in red_signs(walk.knowledge, (check,)) if walk.knowledge.checks[check].names[sign[1]] == result
    ]


def _bare(walk: Walk, above: Place, chance: float, signs: Iterable[Sign], few: bool) -> Place:
    """A place below another at which paper names nothing yet."""
    against = warned(walk.view, signs)
    most = NAMED_OF_MANY if few else NAMED
    return Place(walk, above.reach * chance, above.depth + 1, against.bare, NOTHING, most=most, warned=against)


def _as_program(step: Step) -> Settled:
    """An end that the program itself comes to."""
    return Settled(1.0, 0.0, 1.0) if isinstance(step, CloseCase | Advise) else Settled(0.0, 1.0, 1.0)


def _advised(place: Place) -> Place:
    """On the phone: the advice with the answers so far; right for whom it is not too mild."""
    try:
        advice = place.walk.advice()
    except (ImpossibleFindings, TooManyFindings):
        return place
    place.end = advice
    right = sum(p for level, p in advice.needed.items() if level <= advice.disposition)
    place.settled = Settled(right, 0.0, right)
    return place


def _gravest(place: Place, ends: Iterable[PaperStep]) -> None:
    """Several danger signs at once: the most urgent advice that any of them calls for."""
    advices = [end for end in ends if isinstance(end, Advise)]
    if advices:
        gravest = max(advices, key=lambda end: end.disposition)
        shares = (sum(p for level, p in end.needed.items() if level <= gravest.disposition) for end in advices)
        right = min(shares)
        place.end, place.settled = gravest, Settled(right, 0.0, right)


def responses(walk: Walk) -> Iterator[tuple[str, float, Walk]]:
    """Each way a chart lets the current step be answered: label, chance, the walk after it.

    The chances of a screen of several checks sum to less than one: two abnormal results at once are left out.
    """
    step = walk.step
    match step:
        case DangerScreen(checks) | ReadPanel(checks=checks):
            yield from _one_at_most(walk, checks)
        case MakeCheck(check=check) | ProveRepair(check=check):
            sets, again = walk.view.sets, isinstance(step, MakeCheck) and step.again is not None
            for result, chance in zip(
                walk.knowledge.checks[check].names, result_chances(walk, sets, check)[0].tolist(), strict=True
            ):
                yield result, chance, walk.imagine(walk.answers({check: result}, "", "", again=again))
        case ChooseCondition(feature, values):
            for value in values:
                after = walk.imagine(walk.draft(Kind.CONDITION, "", "", feature=feature, value=value))
                yield value, 1 / (len(values) + 1), after
            after = walk.imagine(walk.draft(Kind.CONDITION, "", "", feature=feature, value=None))
            yield UNKNOWN, 1 / (len(values) + 1), after
        case DoRepair(repair=repair):
            yield DONE, 1.0, walk.imagine(walk.draft(Kind.REPAIRED, "", "", repair=repair))


def result_chances(walk: Walk, sets: CauseSets, check: str) -> tuple[Vector, Vector]:
    """Predicted distribution of the results of a check (R,), and the same for each set of causes (S, R)."""
    table = predict(walk.view.network, sets, (check,)).of(check)
    return np.asarray(sets.weights @ table), table


def _one_at_most(walk: Walk, checks: tuple[str, ...]) -> Iterator[tuple[str, float, Walk]]:
    """Of several checks on one screen: nothing abnormal, or one abnormal result."""
    entries = walk.knowledge.checks
    expected: dict[str, str | None] = {check: entries[check].expected for check in checks}
    sets = walk.view.sets
    tables = {check: result_chances(walk, sets, check)[1] for check in checks}
    none = np.prod([table[:, 0] for table in tables.values()], axis=0)
    yield NONE_OF_THESE, float(sets.weights @ none), walk.imagine(walk.answers(expected, "", ""))
    for check, table in tables.items():
        others = np.prod([other[:, 0] for name, other in tables.items() if name != check], axis=0)
        for number, result in enumerate(entries[check].names[1:], 1):
            after = walk.imagine(walk.answers({**expected, check: result}, "", ""))
            yield f"{check}:{result}", float(sets.weights @ (others * table[:, number])), after


def each_of_several(walk: Walk, sets: CauseSets, checks: Sequence[str], several: Vector) -> dict[str, Vector]:
    """Chance of each abnormal result if two or more checks are abnormal, for each set of causes (S,)."""
    tables = {check: result_chances(walk, sets, check)[1] for check in checks}
    none = np.prod([table[:, 0] for table in tables.values()], axis=0)
    out = {}
    for check, table in tables.items():
        others = 1 - none / np.maximum(table[:, 0], 1e-12)
        for number, result in enumerate(walk.knowledge.checks[check].names[1:], 1):
            chance = table[:, number] * others / np.maximum(several, 1e-12)
            out[f"{check}:{result}"] = np.clip(chance, 0.0, 1.0)
    return out


def several_chance(walk: Walk, sets: CauseSets, checks: tuple[str, ...]) -> Vector:
    """Chance that two or more of the checks are abnormal, for each set of causes (S,)."""
    expected = np.stack([result_chances(walk, sets, check)[1][:, 0] for check in checks])
    none = expected.prod(axis=0)
    one = sum((1 - expected[k]) * np.delete(expected, k, axis=0).prod(axis=0) for k in range(len(checks)))
    return np.asarray(np.clip(1 - none - one, 0.0, 1.0))
