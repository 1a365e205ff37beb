"""What has been found so far, in the form that belief works on.

A repair splits time into epochs: a finding made after the k-th repair has epoch k. A cause that
the k-th repair removed still explains findings of epochs below k. Each present cause therefore has
*modes*, one per repair that may have removed it and one for "still there"; their weights sum to
its prior. With no repair there is one mode, "still there".
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from comeback.engine.network import Network

STILL_THERE = 10**6
"""Epoch at which a cause that no repair removed would be gone: never."""


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
    removals: Mapping[str, tuple[tuple[int, float], ...]] = field(default_factory=dict)

    @property
    def abnormal(self) -> tuple[Sighting, ...]:
        """The sightings that need an explanation."""
        return tuple(sighting for sighting in self.sightings if sighting.result > 0)


@dataclass(frozen=True)
class Mode:
    """One way a cause can be present: until epoch `gone`, with prior `weight`.

    `neutral` is the chance of all expected results it had a hand in. `bits` maps the number of an
    abnormal sighting to (chance of a lesser result, chance of exactly this result).
    """

    gone: int
    weight: float
    neutral: float
    bits: tuple[tuple[int, float, float], ...]


@dataclass(frozen=True)
class CauseModes:
    """A cause by index, its weight when absent, and its modes when present."""

    index: int
    absent: float
    modes: tuple[Mode, ...]

    @cached_property
    def live(self) -> bool:
        """True if the cause bears on an abnormal sighting, so that it can explain something."""
        return any(mode.bits for mode in self.modes)


Trace = tuple[int, int, float, float]
"""Epoch of a sighting, its number among the abnormal ones or -1, chance of less, chance of exactly that."""


def removal_weights(prior: float, removals: tuple[tuple[int, float], ...]) -> list[tuple[int, float]]:
    """(epoch gone, weight) of each way to be present; weights sum to `prior`."""
    out, left = [], prior
    for epoch, chance in removals:
        out.append((epoch, left * chance))
        left *= 1 - chance
    return [*out, (STILL_THERE, left)]


def cause_modes(network: Network, evidence: Evidence) -> list[CauseModes]:
    """Modes of every cause that a sighting or a repair touches, in index order; the others keep their prior."""
    touched: dict[int, list[Trace]] = {network.causes.index(c): [] for c in evidence.removals if c in network.causes}
    bit = 0
    for sighting in evidence.sightings:
        number = bit if sighting.result else -1
        bit += sighting.result > 0
        for index, lesser, exactly in network.observables[sighting.check].shares[sighting.result]:
            touched.setdefault(index, []).append((sighting.epoch, number, lesser, exactly))
    out = []
    for index in sorted(touched):
        prior = float(network.prior[index])
        ways = removal_weights(prior, evidence.removals.get(network.causes[index], ()))
        modes = tuple(_mode(gone, weight, touched[index]) for gone, weight in ways if weight > 0)
        out.append(CauseModes(index, 1 - prior, modes))
    return out


def _mode(gone: int, weight: float, seen: list[Trace]) -> Mode:
    neutral, bits = 1.0, []
    for epoch, number, lesser, exactly in seen:
        if epoch >= gone:  # the cause was already removed when this was seen
            continue
        if number < 0:
            neutral *= exactly
        else:
            bits.append((number, lesser, exactly))
    return Mode(gone, weight, neutral, tuple(bits))
