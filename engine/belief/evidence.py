"""What has been found so far, in the form that belief works on.

A repair splits time into epochs: a finding made after the k-th repair has epoch k. A cause that
the k-th repair removed still explains findings of epochs below k. Each present cause therefore has
*presences* (see `presence`), one per repair that may have removed it and one for "still there"; their
weights sum to its prior. With no repair there is one presence, "still there".
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

STILL_THERE = 10**6
"""Epoch at which a cause that no repair removed would be gone: never."""
CODELESS = 0.05
"""Share of lit check-engine lights without a stored code: cleared since, or another light was meant; judged. The light
is commanded on for one or more stored codes (40 CFR 85.2207)."""


@dataclass(frozen=True)
class Sighting:
    """Result number `result` (0 = expected) of observable `check`, seen in `epoch`."""

    check: str
    result: int
    epoch: int = 0


@dataclass(frozen=True)
class Evidence:
    """Sightings, and for each cause the repairs tried on it as (epoch, chance that it is gone)."""

    sightings: tuple[Sighting, ...] = ()
    removals: Mapping[str, tuple[tuple[int, float], ...]] = field(default_factory=dict, hash=False)

    @property
    def abnormal(self) -> tuple[Sighting, ...]:
        """The sightings that need an explanation."""
        return tuple(sighting for sighting in self.sightings if sighting.result > 0)


def removal_weights(prior: float, removals: tuple[tuple[int, float], ...]) -> list[tuple[int, float]]:
    """(epoch gone, weight) of each presence; the weights sum to `prior`."""
    out, left = [], prior
    for epoch, chance in removals:
        out.append((epoch, left * chance))
        left *= 1 - chance
    return [*out, (STILL_THERE, left)]
