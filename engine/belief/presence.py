"""Presences as arrays: what the findings say of each cause that they touch.

A presence is one way in which a cause can be or have been there: a cause that no repair was tried on has one;
one that repairs were tried on has one for each repair that may have removed it and one for "still there".

    C causes of the network    T touched causes    I presences of touched causes    F abnormal findings
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from comeback.engine.belief.evidence import STILL_THERE, Evidence, Sighting, removal_weights
from comeback.engine.belief.network import Network, Vector

Flags = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Presences:
    """The presences of all touched causes, causes in index order.

    By presence: `cause`; `gone`, the epoch from which it is gone; `weight`, its prior; `neutral`, the chance of
    all expected results it had a hand in; `bears` (I, F), on which abnormal findings it bears; `lesser`,
    `exactly` (I, F), the chance that it gives less than, exactly what was seen. `touched` (T,), the
    causes; `absent` (T,), chance of each without findings not to be there. `leaks` (F, 2), chance that
    the leak gives less than, exactly what was seen; `expected`, that it gave all expected results.
    """

    cause: Indices
    gone: Indices
    weight: Vector
    neutral: Vector
    bears: Flags
    lesser: Vector
    exactly: Vector
    touched: Indices
    absent: Vector
    leaks: Vector
    expected: float

    @cached_property
    def there(self) -> Vector:
        """(I,) weight of each presence together with the expected results."""
        return self.weight * self.neutral

    @cached_property
    def still(self) -> Flags:
        """(I,) presences that are there now: no repair removed them."""
        still: Flags = self.gone == STILL_THERE
        return still

    @cached_property
    def owner(self) -> Indices:
        """(I,) place of the presence's cause among the touched ones."""
        return np.searchsorted(self.touched, self.cause)

    @cached_property
    def alive(self) -> Flags:
        """(T,) causes that bear on an abnormal finding, so that they can explain something."""
        bearing = np.bincount(self.owner[self.bears.any(axis=1)], minlength=self.touched.size)
        alive: Flags = bearing > 0
        return alive

    @cached_property
    def live(self) -> Indices:
        """Indices of the causes that can explain something, in order."""
        return self.touched[self.alive]

    def mass(self, weights: Vector) -> Vector:
        """(T,) sum of the weights of each cause's presences."""
        return np.bincount(self.owner, weights, self.touched.size).astype(np.float64)


def presences_of(network: Network, evidence: Evidence) -> Presences:
    """The presences of every cause that a finding or a repair touches; the others keep their prior."""
    abnormal, places = evidence.abnormal, network.places
    tried = {places[name]: removals for name, removals in evidence.removals.items() if name in places}
    seen = np.zeros(len(network.causes), bool)
    seen[[*tried]] = True
    for sighting in evidence.sightings:
        seen |= network.trace(sighting.check, sighting.result)[0]
    touched = np.flatnonzero(seen)
    cause, gone, weight = _listed(network, touched, tried)
    bears, lesser, exactly = traces(network, abnormal, cause, gone)
    felt, _, expected = traces(network, [s for s in evidence.sightings if not s.result], cause, gone)
    return Presences(
        cause, gone, weight, np.where(felt, expected, 1.0).prod(axis=1), bears, lesser, exactly, touched,
        1 - network.prior[touched], _leaks(network, abnormal), _expected_leaks(network, evidence),
    )  # fmt: skip


def traces(
    network: Network, findings: Sequence[Sighting], cause: Indices, gone: Indices
) -> tuple[Flags, Vector, Vector]:
    """(I, findings) which presences bear on each; chance of less than, exactly what was seen, 1 and 0 if they don't."""
    traces = [network.trace(finding.check, finding.result) for finding in findings]
    epochs = np.array([finding.epoch for finding in findings], np.intp)
    shape = (len(findings), len(network.causes))
    bears, less, exact = (np.array([trace[k] for trace in traces]).reshape(shape)[:, cause].T for k in range(3))
    bears = bears.astype(bool) & (gone[:, None] > epochs)  # one gone before has no part in it
    return bears, np.where(bears, less, 1.0), np.where(bears, exact, 0.0)


def _listed(
    network: Network, touched: Indices, tried: dict[int, tuple[tuple[int, float], ...]]
) -> tuple[Indices, Indices, Vector]:
    """Cause, epoch from which it is gone, and prior of each presence that has a chance; causes in index order."""
    once = touched[~np.isin(touched, [*tried])] if tried else touched
    ways = [(c, *way) for c in tried for way in removal_weights(float(network.prior[c]), tried[c])]
    cause, gone, weight = zip(*ways, strict=True) if ways else ((), (), ())
    causes = np.concatenate((once, np.array(cause, np.intp)))
    epochs = np.concatenate((np.full(once.size, STILL_THERE), np.array(gone, np.intp)))
    weights = np.concatenate((network.prior[once], np.array(weight, np.float64)))
    order = np.argsort(causes, kind="stable")
    order = order[weights[order] > 0]
    return causes[order], epochs[order], weights[order]


def _leaks(network: Network, abnormal: Collection[Sighting]) -> Vector:
    """(F, 2) chance that the leak alone gives less than, and exactly, each abnormal result."""
    rows = []
    for finding in abnormal:
        chances = network.observables[finding.check].leak
        rows.append((float(chances[: finding.result].sum()), float(chances[finding.result])))
    return np.array(rows).reshape(len(abnormal), 2)


def _expected_leaks(network: Network, evidence: Evidence) -> float:
    """Log chance that the leak gave the expected result wherever it was seen."""
    seen = np.array([network.observables[s.check].leak[0] for s in evidence.sightings if not s.result])
    with np.errstate(divide="ignore"):
        return float(np.log(seen).sum())
