"""The cars that come with a complaint, as a table: which causes they have, what each check would show, what is fixed.

    N states: every listed set of causes, and what is left of it after some of them are cured    L causes
    A repairs        C columns: all results of the checks, side by side

A mass is a vector over the states: how many cars are in each. No row of a ladder needs more than this.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

import numpy as np

from comeback.engine.belief.cause_sets import CauseSets, explanations
from comeback.engine.belief.evidence import CODELESS
from comeback.engine.belief.network import Vector, fits
from comeback.engine.belief.predictions import Predictions, predict
from comeback.engine.belief.presence import Flags
from comeback.engine.choosing.repair_sequence import credit
from comeback.engine.walk.case_view import CaseView
from comeback.kb.schema import KnowledgeBase, Repair
from comeback.kb.vocabulary import EngineOff, Level

SHARE = 0.98
"""Share of the belief that the listed sets are to hold; judged."""
KEEPS_DEAD = 0.3
"""A cause keeps the engine from starting if it does so in so many of the cars that have it; judged."""


@dataclass(frozen=True)
class Cars:
    """`states` (N, L); `arriving` (N,): share of the cars in each at the start; `nothing`: the state without causes."""

    view: CaseView
    sets: CauseSets
    states: Flags
    arriving: Vector
    nothing: int

    @property
    def knowledge(self) -> KnowledgeBase:
        """The knowledge that the cars are drawn from."""
        return self.view.knowledge

    @cached_property
    def checks(self) -> tuple[str, ...]:
        """The checks that this reader could make."""
        return tuple(self.view.askable())

    @cached_property
    def shown(self) -> Predictions:
        """What each check shows in each state."""
        known = replace(self.sets, now=self.states, weights=np.full(len(self.states), 1 / len(self.states)))
        return predict(self.view.network, known, self.checks)

    def chance(self, check: str, results: Collection[str]) -> Vector:
        """(N,): chance that the check shows one of these results."""
        names = self.knowledge.checks[check].names
        return np.asarray(self.shown.of(check)[:, [names.index(name) for name in results]].sum(axis=1))

    @cached_property
    def coded(self) -> Vector:
        """(N,): chance that a lit light fits the stored codes: a light without a code is rare."""
        if not self.knowledge.lit(self.view.results):
            return np.ones(len(self.states))
        lists = [check for check in self.knowledge.code_lists if check.id in self.checks]
        none = np.prod([self.chance(check.id, (check.expected,)) for check in lists], axis=0)
        return np.asarray(1 - (1 - CODELESS) * none)

    @cached_property
    def columns(self) -> Mapping[str, int]:
        """Column of each cause by its id."""
        names = self.view.network.causes
        return {names[cause]: k for k, cause in enumerate(self.sets.live)}

    @cached_property
    def repairs(self) -> tuple[Repair, ...]:
        """All repairs that fit the car and that nothing forbids."""
        vehicle, barred = self.view.case.vehicle, self.view.not_driven
        every = self.knowledge.repairs.values()
        return tuple(one for one in every if fits(one.only_if, vehicle) and not (one.drives and barred))

    @cached_property
    def number(self) -> Mapping[str, int]:
        """Number of each repair by its id."""
        return {repair.id: k for k, repair in enumerate(self.repairs)}

    @cached_property
    def credit(self) -> Vector:
        """(A, N): chance that a repair leaves nothing of a state; half of its share if it leaves some for sure."""
        cures = np.array([[repair.removes.get(cause, 0.0) for cause in self.columns] for repair in self.repairs])
        return credit(self.states, cures)

    @cached_property
    def running(self) -> bool:
        """False if a sign that was seen forbids to run the engine: of fuel or fire, or until it is repaired."""
        return not self.view.burning and EngineOff.REPAIRED not in self.view.engine_off.values()

    def allowed(self, repair: str) -> bool:
        """False if the repair runs the engine where it may not run, or works on one that does not start."""
        return repair not in self._need_running and (self.running or not self.view.runs_engine(repair))

    @cached_property
    def _need_running(self) -> frozenset[str]:
        """With a dead engine, repairs whose own work runs it, such as a relearn.

        Except what fixes the no-start, such as flooding, or is proven with the engine off, such as a belt.
        """
        if not self.view.dead:
            return frozenset()
        known = self.knowledge
        told = [(known.checks[name], known.checks[name].names.index(seen)) for name, seen in self.view.stated.items()]
        keeps = {c for c in self.columns for check, k in told
                 if check.id in known.causes[c].shows and known.chances(c, check.id)[k] >= KEEPS_DEAD}  # fmt: skip
        work = (one for one in self.repairs if one.drives or one.runs_engine)
        late = (one for one in work if known.checks[one.proof.check].runs_engine)
        return frozenset(one.id for one in late if not any(map(one.meant_for, keeps)))

    @cached_property
    def beyond(self) -> Flags:
        """(N,): states that nobody here may cure, so that to hand the car over is right.

        No cause, a specialist's, or one whose repair runs an engine that has to stay off.
        """
        able = [one for one in self.repairs if one.level is not Level.SPECIALIST and self.allowed(one.id)]
        mine = np.array([any(repair.meant_for(name) for repair in able) for name in self.columns], bool)
        return np.asarray(~(self.states & mine).any(axis=1))

    @cached_property
    def _without(self) -> tuple[tuple[np.ndarray, np.ndarray], ...]:
        """For each cause: the states that hold it, and the same ones without it."""
        place = {row.tobytes(): k for k, row in enumerate(self.states)}
        out = []
        for column in range(self.states.shape[1]):
            held = np.flatnonzero(self.states[:, column])
            less = self.states[held]
            less[:, column] = False
            out.append((held, np.array([place[row.tobytes()] for row in less], np.intp)))
        return tuple(out)

    def treated(self, mass: Vector, repair: str) -> tuple[float, Vector, Vector]:
        """Do a repair on the cars of a mass: how many are fixed, the mass left, the part of it that did not need it."""
        meant = [(self.columns[c], p) for c, p in self.knowledge.repairs[repair].removes.items() if c in self.columns]
        needed = self.states[:, [column for column, _ in meant]].any(axis=1)
        unneeded, left = np.where(needed, 0.0, mass), np.where(needed, mass, 0.0)
        for column, chance in meant:
            held, less = self._without[column]
            moved = left[held] * chance
            left[held] -= moved
            left[less] += moved
        fixed, left[self.nothing] = float(left[self.nothing]), 0.0
        return fixed, left, unneeded


def cars_of(view: CaseView) -> Cars:
    """The cars of a view. Raises what `explanations` raises."""
    sets = explanations(view.network, view.evidence, SHARE, belief=view.belief)
    now = [tuple(np.flatnonzero(row).tolist()) for row in sets.now & _bearing(view, sets.live)]
    parts = (part for row in now for size in range(len(row), -1, -1) for part in combinations(row, size))
    numbers: dict[tuple[int, ...], int] = {part: n for n, part in enumerate(dict.fromkeys((*parts, ())))}
    states = np.zeros((len(numbers), sets.now.shape[1]), bool)
    for part, number in numbers.items():
        states[number, list(part)] = True
    arriving = np.bincount([numbers[row] for row in now], sets.weights, len(numbers)).astype(float)
    cars = Cars(view, sets, states, arriving, numbers[()])
    fitting = arriving * cars.coded
    return replace(cars, arriving=fitting * arriving.sum() / fitting.sum())


def _bearing(view: CaseView, live: Sequence[int]) -> Flags:
    """(L,): causes that bear on the complaint or on a sign that was seen; to cure others ends no complaint."""
    observables = view.network.observables
    if not view.stated:
        return np.ones(len(live), bool)
    told = [name for name in (*view.stated, *view.raised) if name in observables]
    causes = {cause for name in told for cause in observables[name].links}
    return np.array([cause in causes for cause in live], bool)
