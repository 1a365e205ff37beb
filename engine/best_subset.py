"""Which of many checks to make in so many minutes: exact choice by branch and bound.

    w  (C,) how often each cause occurs       p  (K, C) chance that check k catches cause c
    a set of checks prevents  sum over c of w (1 - product over its checks of (1 - p));
    it costs the minutes of its checks, and of each set-up that any of them needs, once

What a set prevents is submodular: a check adds less beside others. So what a set can still gain is
at most what each open check would add by itself, filled up by rate to the minutes left (fractional
knapsack; Dantzig 1957, from memory), and a second bound counts no cause more than once. Set-ups are
branched on first: with a given choice of them the rest is a plain knapsack.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from comeback.engine.network import Vector

MOST_NODES = 60_000
"""Nodes looked into before the best set so far is given back with the gap that is left."""
CLOSE = 1e-9


@dataclass(frozen=True)
class Option:
    """A check (or panel): its own minutes, the set-ups it needs, `catches` (C,) its chance to catch each cause."""

    minutes: float
    set_ups: frozenset[str]
    catches: Vector


@dataclass(frozen=True)
class Chosen:
    """Positions of the options, what they prevent and cost; no set within the budget prevents more than `bound`."""

    options: tuple[int, ...]
    prevented: float
    minutes: float
    bound: float
    nodes: int

    @property
    def gap(self) -> float:
        """How much better, at most, another set could be; 0 if this one is proved best."""
        return max(0.0, self.bound - self.prevented)


@dataclass(frozen=True)
class Choice:
    """Options, frequencies of the causes, and minutes of the set-ups."""

    options: tuple[Option, ...]
    frequency: Vector
    set_ups: dict[str, float]

    def prevented(self, chosen: Sequence[int]) -> float:
        """What a set of options prevents, in the unit of the frequencies."""
        missed = np.ones(self.frequency.size)
        for k in chosen:
            missed = missed * (1 - self.options[k].catches)
        return float(self.frequency @ (1 - missed))

    def minutes(self, chosen: Sequence[int]) -> float:
        """What a set of options costs, each set-up paid once."""
        needed = frozenset[str]().union(*(self.options[k].set_ups for k in chosen))
        own = sum(self.options[k].minutes for k in chosen)
        return own + sum(self.set_ups[name] for name in sorted(needed))

    def in_order(self, order: Sequence[int], budget: float) -> tuple[int, ...]:
        """The options that one gets through in this order, leaving out what no longer fits."""
        out: list[int] = []
        for k in order:
            if self.minutes([*out, k]) <= budget + CLOSE:
                out.append(k)
        return tuple(out)

    def best(self, budget: float, most_nodes: int = MOST_NODES) -> Chosen:
        """The set that prevents most within `budget` minutes, proved if it takes no more than `most_nodes`."""
        search = _Search(self, budget, most_nodes)
        return search.run()


class _Search:
    """Depth first, the best rate first; `best` is the best set so far, `missed_bound` what was left unlooked-at."""

    def __init__(self, choice: Choice, budget: float, most_nodes: int) -> None:
        self.choice, self.budget = choice, budget
        self.left, self.nodes, self.missed_bound = most_nodes, 0, 0.0
        self.best: tuple[float, tuple[int, ...]] = (0.0, ())

    def run(self) -> Chosen:
        frequency, options = self.choice.frequency, self.choice.options
        rooms = [(room, names) for names in self._set_up_choices() if (room := self._room(names)) >= 0]
        starts = []
        for room, names in rooms:
            open_ = [k for k, o in enumerate(options) if o.set_ups <= names and o.minutes <= room + CLOSE]
            self._greedy(open_, room)
            starts.append((self._bound(np.ones(frequency.size), open_, room), room, open_, names))
        for bound, room, open_, _ in sorted(starts, key=lambda s: (-s[0], sorted(s[3]))):
            if bound > self.best[0] + CLOSE:
                self._branch((), np.ones(frequency.size), open_, room)
        value, chosen = self.best
        bound = max(value, self.missed_bound)
        return Chosen(tuple(sorted(chosen)), value, self.choice.minutes(chosen), bound, self.nodes)

    def _set_up_choices(self) -> list[frozenset[str]]:
        names = sorted({name for option in self.choice.options for name in option.set_ups})
        fitting = [name for name in names if self.choice.set_ups[name] <= self.budget]
        return [frozenset(some) for size in range(len(fitting) + 1) for some in combinations(fitting, size)]

    def _room(self, names: frozenset[str]) -> float:
        return self.budget - sum(self.choice.set_ups[name] for name in sorted(names))

    def _gains(self, missed: Vector, open_: list[int]) -> Vector:
        table = np.array([self.choice.options[k].catches for k in open_]).reshape(len(open_), missed.size)
        return np.asarray(table @ (self.choice.frequency * missed))

    def _bound(self, missed: Vector, open_: list[int], room: float) -> float:
        """What a set so far, with these causes missed, can still gain at most."""
        if not open_:
            return 0.0
        gains = self._gains(missed, open_)
        minutes = np.array([self.choice.options[k].minutes for k in open_])
        return min(_filled(gains, minutes, room), float(self.choice.frequency @ missed))

    def _greedy(self, open_: list[int], room: float) -> None:
        """A first good set, by gain per minute."""
        chosen: tuple[int, ...] = ()
        missed, value = np.ones(self.choice.frequency.size), 0.0
        left = list(open_)
        while left:
            left = [k for k in left if self.choice.options[k].minutes <= room + CLOSE]
            if not left:
                break
            gains = self._gains(missed, left)
            rate = [g / max(self.choice.options[k].minutes, 1e-9) for g, k in zip(gains, left, strict=True)]
            k = left.pop(int(np.argmax(rate)))
            option = self.choice.options[k]
            value += float(option.catches @ (self.choice.frequency * missed))
            chosen, missed, room = (*chosen, k), missed * (1 - option.catches), room - option.minutes
        self._keep(chosen)

    def _keep(self, chosen: tuple[int, ...]) -> None:
        value = self.choice.prevented(chosen)
        if value > self.best[0] + CLOSE:
            self.best = (value, chosen)

    def _branch(self, chosen: tuple[int, ...], missed: Vector, open_: list[int], room: float) -> None:
        """With the option of the best rate, then without it."""
        self._keep(chosen)
        while True:
            open_ = [k for k in open_ if self.choice.options[k].minutes <= room + CLOSE]
            if not open_:
                return
            value = self.choice.prevented(chosen)
            bound = value + self._bound(missed, open_, room)
            if bound <= self.best[0] + CLOSE:
                return
            if self.left <= 0:
                self.missed_bound = max(self.missed_bound, bound)
                return
            self.left, self.nodes = self.left - 1, self.nodes + 1
            gains = self._gains(missed, open_)
            rates = gains / np.array([self.choice.options[k].minutes for k in open_]).clip(1e-9)
            k = open_[int(np.argmax(rates))]
            open_ = [other for other in open_ if other != k]
            option = self.choice.options[k]
            self._branch((*chosen, k), missed * (1 - option.catches), open_, room - option.minutes)


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
