"""Counted cases -> revised chances: Beta with visible pseudo-counts, shops pooled.

    a, b   pseudo-counts of a Beta: cases for, cases against
    m      weight of the judgment, as so many cars seen
    gamma  how much shops differ, 0 (all alike) to 1 (nothing in common)
    kappa  1/gamma - 1: weight of all shops together against one shop's own cars

Conjugate updates as in Gelman et al., Bayesian Data Analysis, sections 2.4, 3.4 and 5.1.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

LEAST_GAMMA = 1e-6
"""Shops are never taken as exactly alike: one shop's million cars then still weigh half."""


@dataclass(frozen=True)
class Beta:
    """What is believed about one chance: as if `a` cases for and `b` against had been seen."""

    a: float
    b: float

    @property
    def mean(self) -> float:
        """Expected chance, 0 to 1."""
        return self.a / (self.a + self.b)

    @property
    def sd(self) -> float:
        """Standard deviation of the chance."""
        total = self.a + self.b
        return math.sqrt(self.a * self.b / (total * total * (total + 1)))

    def after(self, hits: float, trials: float) -> "Beta":
        """The belief after `hits` of `trials`. Raises ValueError if there are more hits than trials."""
        if not 0 <= hits <= trials:
            raise ValueError(f"{hits} of {trials} is no count")
        return Beta(self.a + hits, self.b + trials - hits)

    def quantile(self, share: float) -> float:
        """The chance below which `share` (0 to 1) of the belief lies, to 1e-9 of itself or 1e-12.

        Newton's steps from where a normal distribution has it, between two bounds that close in; a step that
        leaves them halves them instead. Raises ValueError if `share` is not between 0 and 1.
        """
        if not 0 < share < 1:
            raise ValueError(f"{share} is no share between 0 and 1")
        a, b = self.a, self.b
        guess = self.mean + self.sd * NormalDist().inv_cdf(share)
        at = guess if 0 < guess < 1 else min(max(self.mean, 1e-12), 1 - 1e-12)
        low, high = 0.0, 1.0
        for _ in range(200):
            over = beta_cdf(at, a, b) - share
            low, high = (low, at) if over > 0 else (at, high)
            slope = math.exp(_log_power(at, a, b) - math.log(at) - math.log1p(-at))
            step = at - over / slope if slope > 0 else low
            following = step if low < step < high else (low + high) / 2
            if abs(following - at) <= max(1e-9 * at, 1e-12) or following in (low, high):
                return following
            at = following
        return at

    def interval(self, share: float = 0.95) -> tuple[float, float]:
        """The central interval that holds `share` of the belief."""
        return self.quantile((1 - share) / 2), self.quantile((1 + share) / 2)


def judged(chance: float, weight: float) -> Beta:
    """A judgment of `chance` that weighs as much as `weight` cars seen."""
    return Beta(chance * weight, (1 - chance) * weight)


def beta_cdf(x: float, a: float, b: float) -> float:
    """Regularised incomplete beta function, by its continued fraction (modified Lentz; from memory)."""
    if x <= 0:
        return 0.0
    if x >= 1:
        return 1.0
    if x > (a + 1) / (a + b + 2):
        return 1.0 - beta_cdf(1 - x, b, a)
    return math.exp(_log_power(x, a, b)) * _fraction(x, a, b) / a


def _log_power(x: float, a: float, b: float) -> float:
    """Logarithm of x^a (1-x)^b over the beta function of a and b."""
    return math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)


def _fraction(x: float, a: float, b: float) -> float:
    tiny = 1e-300
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1)
    d = 1.0 / (d if abs(d) > tiny else tiny)
    value = d
    for m in range(1, 10_000):
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        change = 1.0
        for step in (even, odd):
            d, c = 1.0 + step * d, 1.0 + step / c
            d = 1.0 / (d if abs(d) > tiny else tiny)
            c = c if abs(c) > tiny else tiny
            change = c * d
            value *= change
        if abs(change - 1.0) < 1e-15:
            break
    return value


@dataclass(frozen=True)
class Seen:
    """What shops saw of several numbers, one row for each shop of each number.

    `share` hits of trials, `trials` 1 or more, `number` which number it is, from 0 on; `chance` of each
    number the pooled one, above 0 and below 1. Every number has two shops or more.
    """

    share: NDArray[np.float64]
    trials: NDArray[np.float64]
    number: NDArray[np.int64]
    chance: NDArray[np.float64]


def seen_of(groups: Iterable[tuple[Iterable[tuple[float, float]], float]]) -> Seen:
    """From (shops as (hits, trials), pooled chance) of each number; numbers that can tell nothing are left out."""
    rows: list[tuple[float, float, int]] = []
    chances: list[float] = []
    for shops, chance in groups:
        some = [(hits / n, n, len(chances)) for hits, n in shops if n >= 1]
        if len(some) > 1 and 0 < chance < 1:
            rows += some
            chances.append(chance)
    share, trials, number = zip(*rows, strict=True) if rows else ((), (), ())
    return Seen(np.array(share, float), np.array(trials, float), np.array(number, np.int64), np.array(chances, float))


def gamma_of(seen: Seen, gamma: float = 0.0) -> float:
    """How much more the shops' shares differ than drawing alone explains (moments; Kleinman 1973, from memory).

    `gamma` is an earlier estimate, for the weights. With n cars a shop's share varies by
    p(1-p)((1-gamma)/n + gamma). So the squares around the mean share, with weights w that sum to W, come
    to p(1-p)((1-gamma)A + gamma B) on average, with A = sum w/n (1-w/W) and B = sum w (1-w/W); that is
    solved for gamma. Squares, A and B are added up over the numbers. With one shop only: LEAST_GAMMA.
    """

    def by_number(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(np.bincount(seen.number, values, minlength=len(seen.chance)), float)

    weight = seen.trials / (1 + gamma * (seen.trials - 1))
    whole = by_number(weight)
    centre = by_number(weight * seen.share) / whole
    squares = by_number(weight * (seen.share - centre[seen.number]) ** 2) / (seen.chance * (1 - seen.chance))
    rest = 1 - weight / whole[seen.number]
    alike, apart = float(np.sum(weight / seen.trials * rest)), float(np.sum(weight * rest))
    room = apart - alike
    return min(max((float(np.sum(squares)) - alike) / room if room > 0 else 0.0, LEAST_GAMMA), 1.0)


def converged_gamma(seen: Seen) -> float:
    """Estimate again with the weights that the estimate itself calls for, until it stays (at most 50 times)."""
    found = gamma_of(seen)
    for _ in range(50):
        before, found = found, gamma_of(seen, found)
        if abs(found - before) <= 1e-6 * found:
            break
    return found


def pooled(prior: Beta, hits: float, trials: float, kappa: float, own: tuple[float, float] | None = None) -> Beta:
    """What is believed for all shops together, or for one shop with its `own` (hits, trials).

    All shops together stand for the one shop as a judgment that weighs `kappa` cars; never more than
    what all shops have seen, judgment included.
    """
    whole = prior.after(hits, trials)
    if own is None:
        return whole
    return judged(whole.mean, min(kappa, whole.a + whole.b)).after(*own)
