"""Predicted against found: of the causes given 30 %, were about 30 of 100 the ones?"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from comeback.engine.learning.beta import Beta

BINS = 10
"""Classes of predicted chance: 0 to 10 %, ..., 90 to 100 %."""


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


def calibrated(predictions: Iterable[tuple[float, bool]]) -> list[Bin]:
    """(chance, found) of single predictions by class of chance; classes without any are left out."""
    classes: dict[int, list[tuple[float, bool]]] = {}
    for chance, found in predictions:
        classes.setdefault(min(int(chance * BINS), BINS - 1), []).append((chance, found))
    return [
        Bin(i / BINS, (i + 1) / BINS, len(made), math.fsum(p for p, _ in made), sum(hit for _, hit in made))
        for i, made in sorted(classes.items())
    ]
