"""Which checks to make within a budget of minutes: greedy choice by loss prevented per minute.

    w  (C,) what each cause costs, times how often it occurs     p  (K, C) chance that check k catches cause c
    e  (K,) what it costs on average to find out what the check has shown, in the unit of w
    a set of checks spares  sum over c of w (1 - product over its checks of (1 - p)), less the e of its checks;
    for a cause where one check must do,  w times the largest p  in place of that
    it takes the minutes of its checks, and of each set-up that any of them needs, once

What a set catches is submodular: a check adds less beside others. Greedy by gain over cost, compared with the
best single check, then reaches at least (1 - 1/e) / 2 of the most possible where costs just add up and
nothing is charged for what was shown (Khuller, Moss & Naor, "The budgeted maximum coverage problem", 1999;
over Nemhauser, Wolsey & Fisher 1978; both from memory). Here greedy starts once from every check, which
includes both, and finds out where a set-up pays only for several checks together.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from comeback.engine.belief.network import Vector

CLOSE = 1e-9
"""Differences of worth up to this are rounding, not a reason to prefer."""


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
class Choice:
    """Options, the worth of catching each cause for certain, minutes of the set-ups.

    `one_must_do`: (C,) causes for which only the surest check of a set counts.
    """

    options: tuple[Option, ...]
    worth: Vector
    set_ups: dict[str, float]
    one_must_do: npt.NDArray[np.bool_]

    @cached_property
    def _catches(self) -> Vector:
        """(K, C)."""
        return np.array([option.catches for option in self.options]).reshape(-1, self.worth.size)

    def missed(self, chosen: Sequence[int]) -> Vector:
        """(C,) chance that the options do not catch the cause."""
        caught = self._catches[list(chosen)]
        return np.asarray(np.where(self.one_must_do, 1 - caught.max(axis=0, initial=0.0), (1 - caught).prod(axis=0)))

    def spared(self, chosen: Sequence[int]) -> float:
        """What a set of options spares, in the unit of the worth."""
        return float(self.worth @ (1 - self.missed(chosen))) - sum(self.options[k].expense for k in chosen)

    def minutes(self, chosen: Iterable[int]) -> float:
        """What a set of options takes, each set-up paid once."""
        chosen = list(chosen)
        own = sum(self.options[k].minutes for k in chosen)
        return own + sum(self.set_ups[name] for name in sorted(self.standing(chosen)))

    def standing(self, chosen: Iterable[int]) -> frozenset[str]:
        """Every set-up that one of the options needs."""
        return frozenset[str]().union(*(self.options[k].set_ups for k in chosen))

    def with_needs(self, k: int, chosen: Sequence[int]) -> tuple[int, ...]:
        """The chosen options, then what option k needs, then k."""
        more = sorted(self.options[k].needs.difference(chosen))
        return (*chosen, *more) if k in chosen else (*chosen, *more, k)

    def in_order(self, order: Sequence[int], budget: float) -> tuple[int, ...]:
        """The options that one gets through in this order, with what they need, leaving out what no longer fits."""
        out: tuple[int, ...] = ()
        for k in order:
            more = self.with_needs(k, out)
            out = more if self.minutes(more) <= budget + CLOSE else out
        return out

    def best(self, budget: float, first: Sequence[int] = (), beside: Sequence[int] = ()) -> tuple[int, ...]:
        """Options that spare much within `budget` minutes: with `first`, or no less than the list `beside` spares.

        Greedy from `first` alone, from `first` with one more option, and from what of `beside` fits. What of
        `first` does not fit is left out.
        """
        first = self.in_order(first, budget)
        one_more = (self.with_needs(k, first) for k in range(len(self.options)))
        starts = dict.fromkeys([first, self.in_order(beside, budget), *one_more])
        fitting = (start for start in starts if self.minutes(start) <= budget + CLOSE)
        return max((self._filled(start, budget) for start in fitting), key=self.spared)

    def _filled(self, chosen: tuple[int, ...], budget: float) -> tuple[int, ...]:
        """The set with more options, each time the one that gains most a minute, until none gains or fits."""
        while True:
            spared, minutes = self.spared(chosen), self.minutes(chosen)
            best, best_rate = chosen, 0.0
            for before, options in self._open(chosen).items():
                gains = self._spared_with(before, options) - spared
                added = np.array([self.minutes((*before, k)) for k in options]) - minutes
                rates = np.where((minutes + added <= budget + CLOSE) & (gains > CLOSE), gains / added.clip(CLOSE), 0.0)
                k = int(rates.argmax())
                if rates[k] > best_rate:
                    best, best_rate = (*before, options[k]), float(rates[k])
            if best == chosen:
                return chosen
            chosen = best

    def _open(self, chosen: tuple[int, ...]) -> dict[tuple[int, ...], list[int]]:
        """The options left, by the set that each is added to: the chosen ones with what it needs."""
        out: dict[tuple[int, ...], list[int]] = {}
        for k in range(len(self.options)):
            if k not in chosen:
                out.setdefault(self.with_needs(k, chosen)[:-1], []).append(k)
        return out

    def _spared_with(self, before: tuple[int, ...], options: list[int]) -> Vector:
        """What the set spares with each of the options."""
        missed, left = self.missed(before), 1 - self._catches[options]
        caught = 1 - np.where(self.one_must_do, np.minimum(missed, left), missed * left)
        expense = sum(self.options[k].expense for k in before)
        return np.asarray(caught @ self.worth - expense - [self.options[k].expense for k in options])
