"""Which of many checks to make in so many minutes: exact choice by branch and bound.

    w  (C,) what each cause costs, times how often it occurs     p  (K, C) chance that check k catches cause c
    e  (K,) what it costs on average to find out what the check has shown, in the unit of w
    a set of checks spares  sum over c of w (1 - product over its checks of (1 - p)), less the e of its checks;
    it takes the minutes of its checks, and of each set-up that any of them needs, once

What a set spares is submodular: a check adds less beside others. So what a set can still gain is
at most what each open check would add by itself, filled up by rate to the minutes left (fractional
knapsack; Dantzig 1957, from memory), and a second bound counts no cause more than once. Both stay
bounds where a check needs others first, since they leave that out. Set-ups are branched on first:
with a given choice of them the rest is a plain knapsack.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from comeback.engine.belief.network import Vector

MOST_NODES = 20_000
"""Nodes looked into before the best set so far is given back with the gap that is left."""
CLOSE = 1e-9


@dataclass(frozen=True)
class Option:
    """A check (or panel): its own minutes, the set-ups it needs, `catches` (C,) its chance to catch each cause.

    `needs`: positions of all options that must be made as well, those that these need included. `expense`:
    what it costs on average to find out what it has shown, in the unit of the worth.
    """

    minutes: float
    set_ups: frozenset[str]
    catches: Vector
    needs: frozenset[int] = frozenset()
    expense: float = 0.0


@dataclass(frozen=True)
class Chosen:
    """Positions of the options, what they spare and cost; no set within the budget spares more than `bound`."""

    options: tuple[int, ...]
    spared: float
    minutes: float
    bound: float
    nodes: int

    @property
    def gap(self) -> float:
        """How much better, at most, another set could be; 0 if this one is proved best."""
        return max(0.0, self.bound - self.spared)


@dataclass(frozen=True)
class Choice:
    """Options, the worth of catching each cause for certain, and minutes of the set-ups."""

    options: tuple[Option, ...]
    worth: Vector
    set_ups: dict[str, float]

    def missed(self, chosen: Sequence[int]) -> Vector:
        """(C,) chance that none of the options catches the cause."""
        missed = np.ones(self.worth.size)
        for k in chosen:
            missed = missed * (1 - self.options[k].catches)
        return missed

    def spared(self, chosen: Sequence[int]) -> float:
        """What a set of options spares, in the unit of the worth."""
        expense = sum(self.options[k].expense for k in chosen)
        return float(self.worth @ (1 - self.missed(chosen))) - expense

    def minutes(self, chosen: Sequence[int]) -> float:
        """What a set of options costs, each set-up paid once."""
        own = sum(self.options[k].minutes for k in chosen)
        return own + sum(self.set_ups[name] for name in sorted(self.standing(chosen)))

    def standing(self, chosen: Sequence[int]) -> frozenset[str]:
        """Every set-up that one of the options needs."""
        return frozenset[str]().union(*(self.options[k].set_ups for k in chosen))

    def lacking(self, k: int, chosen: Sequence[int]) -> tuple[int, ...]:
        """Option k with what it needs, less what is chosen already."""
        return tuple(sorted({k, *self.options[k].needs}.difference(chosen)))

    def in_order(self, order: Sequence[int], budget: float) -> tuple[int, ...]:
        """The options that one gets through in this order, with what they need, leaving out what no longer fits."""
        out: list[int] = []
        for k in order:
            more = self.lacking(k, out)
            if self.minutes([*out, *more]) <= budget + CLOSE:
                out += more
        return tuple(out)

    def best(self, budget: float, fixed: Sequence[int] = (), most_nodes: int = MOST_NODES) -> Chosen:
        """The set that holds `fixed` and spares most within `budget` minutes, or `fixed` alone if that is longer.

        Proved if it takes no more than `most_nodes`. `fixed` holds what its options need.
        """
        return _Search(self, budget, tuple(fixed), most_nodes).run()


class _Search:
    """Depth first, the best rate first; `best` is the best set so far, `missed_bound` what was left unlooked-at."""

    def __init__(self, choice: Choice, budget: float, fixed: tuple[int, ...], most_nodes: int) -> None:
        self.choice, self.fixed = choice, fixed
        self.room = budget - choice.minutes(fixed)
        self.catches = np.array([option.catches for option in choice.options]).reshape(-1, choice.worth.size)
        self.expense = np.array([option.expense for option in choice.options], float)
        self.own = np.array([option.minutes for option in choice.options], float)
        self.left, self.nodes, self.missed_bound = most_nodes, 0, -np.inf
        self.best: tuple[float, tuple[int, ...]] = (choice.spared(fixed), fixed)

    def run(self) -> Chosen:
        options, missed = self.choice.options, self.choice.missed(self.fixed)
        base = self.choice.spared(self.fixed)
        starts = []
        for names, room in self._set_up_choices():
            closed = [k for k in range(len(options)) if k not in self.fixed]
            open_ = [k for k in closed if self.choice.standing((k, *options[k].needs)) <= names]
            starts.append((base + self._bound(missed, open_, room), room, open_, names))
        for bound, room, open_, _ in sorted(starts, key=lambda s: (-s[0], sorted(s[3]))):
            if bound > self.best[0] + CLOSE:
                self._greedy(missed, open_, room)
                self._branch(self.fixed, missed, open_, room)
        value, chosen = self.best
        bound = max(value, self.missed_bound)
        return Chosen(tuple(sorted(chosen)), value, self.choice.minutes(chosen), bound, self.nodes)

    def _set_up_choices(self) -> list[tuple[frozenset[str], float]]:
        """Sets of set-ups that fit, with the minutes left; those that cost nothing more stand in each."""
        paid = self.choice.standing(self.fixed)
        names = self.choice.standing(range(len(self.choice.options)))
        free = paid | {name for name in names if not self.choice.set_ups[name]}
        dear = sorted(name for name in names - free if self.choice.set_ups[name] <= self.room)
        sets = (free.union(some) for size in range(len(dear) + 1) for some in combinations(dear, size))
        rooms = ((some, self.room - sum(self.choice.set_ups[name] for name in sorted(some - paid))) for some in sets)
        return [(some, room) for some, room in rooms if room >= 0]

    def _gains(self, missed: Vector, open_: list[int]) -> Vector:
        """What each open option adds by itself; below 0 if it is not worth its expense."""
        return np.asarray(self.catches[open_] @ (self.choice.worth * missed) - self.expense[open_], float)

    def _bound(self, missed: Vector, open_: list[int], room: float) -> float:
        """What a set so far, with these causes missed, can still gain at most."""
        if not open_:
            return 0.0
        gains = self._gains(missed, open_).clip(0)
        return min(_filled(gains, self.own[open_], room), float(self.choice.worth @ missed))

    def _fitting(self, chosen: tuple[int, ...], open_: list[int], room: float) -> tuple[list[int], Vector]:
        """Open options that fit with all they need, and the minutes that takes."""
        made = set(chosen)
        minutes = self.own[open_]
        for place, k in enumerate(open_):
            if more := self.choice.options[k].needs - made:
                minutes[place] += sum(self.choice.options[i].minutes for i in sorted(more))
        fits = minutes <= room + CLOSE
        return [k for k, fit in zip(open_, fits, strict=True) if fit], minutes[fits].clip(CLOSE)

    def _with(
        self, k: int, chosen: tuple[int, ...], missed: Vector, open_: list[int], room: float
    ) -> tuple[tuple[int, ...], Vector, list[int], float]:
        """Option k and what it needs made as well: the same four, afterwards."""
        more = self.choice.lacking(k, chosen)
        for one in more:
            missed, room = missed * (1 - self.choice.options[one].catches), room - self.choice.options[one].minutes
        return (*chosen, *more), missed, [other for other in open_ if other not in more], room

    def _greedy(self, missed: Vector, open_: list[int], room: float) -> None:
        """A first good set, by gain per minute."""
        chosen = self.fixed
        while True:
            open_, minutes = self._fitting(chosen, open_, room)
            if not open_:
                break
            k = open_[int(np.argmax(self._gains(missed, open_) / minutes))]
            chosen, missed, open_, room = self._with(k, chosen, missed, open_, room)
            self._keep(chosen)

    def _keep(self, chosen: tuple[int, ...]) -> None:
        value = self.choice.spared(chosen)
        if value > self.best[0] + CLOSE:
            self.best = (value, chosen)

    def _branch(self, chosen: tuple[int, ...], missed: Vector, open_: list[int], room: float) -> None:
        """With the option of the best rate and what it needs, then without it and what needs it."""
        self._keep(chosen)
        while True:
            open_, minutes = self._fitting(chosen, open_, room)
            if not open_:
                return
            bound = self.choice.spared(chosen) + self._bound(missed, open_, room)
            if bound <= self.best[0] + CLOSE:
                return
            if self.left <= 0:
                self.missed_bound = max(self.missed_bound, bound)
                return
            self.left, self.nodes = self.left - 1, self.nodes + 1
            k = open_[int(np.argmax(self._gains(missed, open_) / minutes))]
            self._branch(*self._with(k, chosen, missed, open_, room))
            open_ = [other for other in open_ if other != k and k not in self.choice.options[other].needs]


def _filled(gains: Vector, minutes: Vector, room: float) -> float:
    """The most that fits if an option may be taken in part: by rate, until the room is full."""
    order = np.argsort(-gains / minutes.clip(1e-9))
    filled = np.cumsum(minutes[order])
    whole = filled <= room
    total = float(gains[order][whole].sum())
    if not whole.all():
        first = int(np.argmin(whole))
        before = float(filled[first - 1]) if first else 0.0
        total += float(gains[order][first]) * (room - before) / float(minutes[order][first])
    return total
