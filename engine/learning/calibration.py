"""Predicted against found: of the causes given 30 %, were about 30 of 100 the ones?"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from comeback.engine.case_log.outcomes import BINS
from comeback.engine.learning.beta import Beta


@dataclass(frozen=True)
class Bin:
    """Predictions with chances from `low` to `high`: how many, the sum of the chances, how many came true."""

    low: float
    high: float
    count: int
    total: float
    found: int

    @property
    def predicted(self) -> float:
        """Mean chance given, 0 to 1."""
        return self.total / self.count

    @property
    def share(self) -> float:
        """Share that came true, 0 to 1."""
        return self.found / self.count

    @property
    def interval(self) -> tuple[float, float]:
        """95 % interval of the share (Beta with the pseudo-counts 1/2 and 1/2 of Jeffreys)."""
        return Beta(0.5 + self.found, 0.5 + self.count - self.found).interval()

    @property
    def fits(self) -> bool:
        """True if what was predicted lies within what the cases allow."""
        low, high = self.interval
        return low <= self.predicted <= high


def mean_distance(bins: Sequence[Bin]) -> float:
    """Mean distance of predicted and found share, 0 to 1, weighted by predictions; 0 with none."""
    off = math.fsum(one.count * abs(one.predicted - one.share) for one in bins)
    return off / sum(one.count for one in bins) if bins else 0.0


def calibrated(kept: Iterable[Bin], replayed: Iterable[tuple[float, bool]] = ()) -> list[Bin]:
    """Recorded predictions as bins, with single ones (chance, found) added to them."""
    sums = [[0, 0.0, 0] for _ in range(BINS)]
    single = ((min(int(chance * BINS), BINS - 1), 1, chance, int(found)) for chance, found in replayed)
    for place, *more in [*((round(one.low * BINS), one.count, one.total, one.found) for one in kept), *single]:
        sums[place] = [before + new for before, new in zip(sums[place], more, strict=True)]
    return [Bin(i / BINS, (i + 1) / BINS, int(n), p, int(hit)) for i, (n, p, hit) in enumerate(sums) if n]
