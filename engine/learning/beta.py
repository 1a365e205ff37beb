"""Counted cases -> revised chances: Beta with visible pseudo-counts, shops pooled.

    a, b   pseudo-counts of a Beta: cases for, cases against
    m      weight of the judgment, as so many cars seen
    gamma  how much shops differ, 0 (all alike) to 1 (nothing in common)
    kappa  1/gamma - 1: weight of all shops together against one shop's own cars

Conjugate updates as in Gelman et al., Bayesian Data Analysis, sections 2.4, 3.4 and 5.1.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

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

    def after(self, hits: float, trials: float) -> "Beta":
        """The belief after `hits` of `trials`. Raises ValueError if there are more hits than trials."""
        if not 0 <= hits <= trials:
            raise ValueError(f"{hits} of {trials} is no count")
        return Beta(self.a + hits, self.b + trials - hits)

    def quantile(self, share: float) -> float:
        """The chance below which `share` of the belief lies, above 0 and below 1, to 1e-9 of itself or 1e-12.

        Newton's steps from the mean, between two bounds that close in; a step that leaves them halves them instead.
        """
        low, at, high = 0.0, min(max(self.mean, 1e-12), 1 - 1e-12), 1.0
        for _ in range(200):
            over = beta_cdf(at, self.a, self.b) - share
            low, high = (low, at) if over > 0 else (at, high)
            slope = math.exp(_log_power(at, self.a, self.b) - math.log(at) - math.log1p(-at))
            step = at - over / slope if slope > 0 else low
            before, at = at, step if low < step < high else (low + high) / 2
            if abs(at - before) <= max(1e-9 * before, 1e-12):
                break
        return at

    def interval(self, share: float = 0.95) -> tuple[float, float]:
        """The central interval that holds `share` of the belief."""
        return self.quantile((1 - share) / 2), self.quantile((1 + share) / 2)


def judged(chance: float, weight: float) -> Beta:
    """A judgment of `chance` that weighs as much as `weight` cars seen."""
    return Beta(chance * weight, (1 - chance) * weight)


def beta_cdf(x: float, a: float, b: float) -> float:
    """Regularized incomplete beta function, by its continued fraction (modified Lentz; from memory)."""
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


Group = tuple[Sequence[Sequence[float]], float]
"""What shops saw of one number, (hits, trials) of each, and the chance of all of them together."""


def gamma_of(groups: Iterable[Group], gamma: float = 0.0) -> float:
    """How much more the shops' shares differ than drawing alone explains (moments; Kleinman 1973, from memory).

    `gamma` is an earlier estimate, for the weights. With n cars a shop's share varies by
    p(1-p)((1-gamma)/n + gamma). So the squares around the mean share, with weights w that sum to W, come
    to p(1-p)((1-gamma)A + gamma B) on average, with A = sum w/n (1-w/W) and B = sum w (1-w/W); that is
    solved for gamma. Squares, A and B are added up over the numbers. With one shop only: LEAST_GAMMA.

    Two shops that found 0 of 50 and 50 of 50 differ as much as can be: gamma is 1. Eight with 10 of 100 each: 0.
    """
    squares = alike = apart = 0.0
    for shops, chance in groups:
        seen = [(hits / n, n, n / (1 + gamma * (n - 1))) for hits, n in shops if n >= 1]
        if len(seen) < 2 or not 0 < chance < 1:
            continue
        whole = sum(weight for _, _, weight in seen)
        centre = sum(weight * share for share, _, weight in seen) / whole
        squares += sum(weight * (share - centre) ** 2 for share, _, weight in seen) / (chance * (1 - chance))
        alike += sum(weight / n * (1 - weight / whole) for _, n, weight in seen)
        apart += sum(weight * (1 - weight / whole) for _, _, weight in seen)
    room = apart - alike
    return min(max((squares - alike) / room if room > 0 else 0.0, LEAST_GAMMA), 1.0)


def converged_gamma(groups: Sequence[Group]) -> float:
    """Estimate again with the weights that the estimate itself calls for, until it stays (at most 50 times)."""
    found = gamma_of(groups)
    for _ in range(50):
        before, found = found, gamma_of(groups, found)
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
