"""Ways to be present as arrays: what lists of sets are made of, all in logarithms.

I items (a live cause in one of its modes)    F abnormal findings
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from comeback.engine.evidence import STILL_THERE, Evidence, cause_modes
from comeback.engine.network import Network, Vector

Flags = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.intp]
_NEVER = -1e4  # log of zero, kept finite so that sums stay defined


@dataclass(frozen=True)
class Items:
    """Ways to be present, causes in index order, as arrays by item; `lesser`, `at_most` (I, F), leak rows (F,)."""

    cause: Indices
    still: Flags
    odds: Vector
    lesser: Vector
    at_most: Vector
    leak_lesser: Vector
    leak_at_most: Vector
    offset: float

    def log_chance(self, lesser: Vector, at_most: Vector) -> Vector:
        """Log chance of exactly the results seen, for sums of shape (..., F)."""
        gap = np.minimum(lesser - at_most, -1e-300)
        with np.errstate(divide="ignore"):
            return np.asarray(np.sum(at_most + np.log(-np.expm1(gap)), axis=-1))


def items_of(network: Network, evidence: Evidence) -> Items:
    """The items of all live causes; `offset` is the log weight of what does not depend on the set."""
    findings = evidence.abnormal
    cause, still, odds, lesser, at_most, offset = [], [], [], [], [], 0.0
    for modes in cause_modes(network, evidence):
        if not modes.live:
            offset += _log(modes.absent + sum(mode.weight * mode.neutral for mode in modes.modes))
            continue
        absent = max(modes.absent, 1e-12)  # a certain cause: its absence weighs next to nothing
        offset += math.log(absent)
        for mode in modes.modes:
            lo, hi = np.zeros(len(findings)), np.zeros(len(findings))
            for bit, below, exactly in mode.bits:
                lo[bit], hi[bit] = _log(below), _log(below + exactly)
            cause.append(modes.index)
            still.append(mode.gone == STILL_THERE)
            odds.append(_log(mode.weight * mode.neutral) - math.log(absent))
            lesser.append(lo)
            at_most.append(hi)
    leaks = [network.observables[f.check].leak for f in findings]
    low = np.array([_log(float(x[: f.result].sum())) for x, f in zip(leaks, findings, strict=True)])
    high = np.array([_log(float(x[: f.result + 1].sum())) for x, f in zip(leaks, findings, strict=True)])
    offset += math.fsum(_log(float(network.observables[s.check].leak[0])) for s in evidence.sightings if s.result == 0)
    shape = (len(cause), len(findings))
    return Items(
        np.array(cause, np.intp), np.array(still, bool), np.array(odds), np.array(lesser).reshape(shape),
        np.array(at_most).reshape(shape), low, high, offset,
    )  # fmt: skip


def _log(value: float) -> float:
    return math.log(value) if value > 0 else _NEVER
