"""Exact posterior over all sets of causes, any number at once, without listing them.

With few findings what the causes explain is united in a tree (`unions`), with more the causes are swept
through one by one (`sweep`); both give the same to the last digits. Every term is a probability, nothing
is subtracted, so no digits are lost (the inclusion-exclusion form, Heckerman 1989, from memory, loses
them: tests/benchmarks).
"""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

import numpy as np

from comeback.engine.belief.elimination_order import take_turns
from comeback.engine.belief.evidence import Evidence
from comeback.engine.belief.forward_backward import settle, sweep
from comeback.engine.belief.network import Network, Vector
from comeback.engine.belief.presence import Indices, Ways, ways_of
from comeback.engine.belief.subset_union import lacking, union_of
from comeback.engine.errors import ImpossibleFindings

FEW = 7
"""Abnormal findings up to which the tree is quicker than the sweep (tests/benchmarks/bench_belief.py)."""


@dataclass(frozen=True)
class Belief:
    """Probability of each cause given the findings, shape (causes,).

    `present`: it is there now. `was_present`: it was there before any repair. `log_evidence`: natural
    logarithm of the probability of all findings together (with excluded causes: and that they are
    absent). `live`: indices of causes that can explain an abnormal finding. `ways`: what belief was made of.
    """

    network: Network
    present: Vector
    was_present: Vector
    log_evidence: float
    live: tuple[int, ...]
    ways: Ways = field(repr=False, compare=False)

    def probability(self, cause: str) -> float:
        """Chance that `cause` is present now."""
        return float(self.present[self.network.index(cause)])


def posterior(network: Network, evidence: Evidence, excluded: Collection[str] = ()) -> Belief:
    """Belief after the evidence and, for the causes in `excluded`, after finding them absent.

    Raises ImpossibleFindings if the evidence has probability zero, TooManyFindings if more than
    `turns.MAX_OPEN` abnormal findings must be held open at once.
    """
    gone = _indices(network, excluded)
    ways = ways_of(network, evidence).without(gone)
    present, was = network.prior.copy(), network.prior.copy()
    present[gone], was[gone] = 0.0, 0.0
    log, shares = _tree(ways) if len(ways.leaks) <= FEW else _swept(ways)
    total = log + _constant(network, ways, gone)
    if total == -math.inf:
        raise ImpossibleFindings(tuple(sighting.check for sighting in evidence.sightings))
    idle = ~ways.alive[ways.owner]
    shares[idle] = ways.there[idle] / (ways.absent + ways.mass(ways.there))[ways.owner[idle]]
    was[ways.touched], present[ways.touched] = ways.mass(shares), ways.mass(shares * ways.still)
    return Belief(network, present, was, total, tuple(ways.live.tolist()), ways)


def log_evidence(network: Network, evidence: Evidence) -> float:
    """Log chance of the evidence; minus infinity if impossible. Raises what `posterior` raises of width."""
    ways = ways_of(network, evidence)
    return logs_without(network, ways, [()])[0]


def logs_without(network: Network, ways: Ways, groups: Sequence[Collection[str]]) -> list[float]:
    """For each group: log chance of the evidence and of the group's causes being absent."""
    gone = [_indices(network, group) for group in groups]
    there = [ways.without(causes) for causes in gone]
    if len(ways.leaks) <= FEW:
        logs = _grown(ways, np.stack([other.there for other in there], axis=1))[0]
    else:
        logs = np.array([sweep(take_turns(other), []) for other in there])
    constants = (_constant(network, other, causes) for other, causes in zip(there, gone, strict=True))
    return [float(log) + constant for log, constant in zip(logs, constants, strict=True)]


def _indices(network: Network, causes: Collection[str]) -> Indices:
    names = frozenset(causes)
    return np.array(sorted(network.places[name] for name in names if name in network.places), np.intp)


def _constant(network: Network, ways: Ways, gone: Indices) -> float:
    """Log chance of what has no part in explaining: expected results, idle and excluded causes."""
    idle = ~ways.alive
    apart = 1 - network.prior[np.setdiff1d(gone, ways.touched)]
    with np.errstate(divide="ignore"):
        alone = np.log((ways.absent + ways.mass(ways.there))[idle]).sum() + np.log(apart).sum()
    return float(alone) + ways.expected


def _swept(ways: Ways) -> tuple[float, Vector]:
    """Log chance of the abnormal findings, and the chance of each live way given them, by elimination."""
    turns, kept, shares = take_turns(ways), [], np.zeros(ways.cause.size)  # type: ignore[var-annotated]
    log = sweep(turns, kept)
    if log > -math.inf:
        settle(turns, kept, shares)
    return log, shares


def _tree(ways: Ways) -> tuple[float, Vector]:
    """Log chance of the abnormal findings, and the chance of each live way given them, by the tree of subsets."""
    logs, explains, levels = _grown(ways, ways.there[:, None])
    shares = np.zeros(ways.cause.size)
    if logs[0] == -math.inf or not explains.size:
        return float(logs[0]), shares
    root = np.zeros((explains.shape[0], 1))
    root[-1] = 1.0
    others = lacking(levels, int(ways.alive.sum()) + 1, root)[:, :-1, 0]  # the last leaf is the leak
    rows = np.flatnonzero(ways.alive[ways.owner])
    place = np.cumsum(ways.alive)[ways.owner[rows]] - 1
    weights = ways.there[rows] * np.einsum("si,si->i", explains, others[:, place])
    absent = ways.absent[ways.alive] * others[0]
    shares[rows] = weights / (absent + np.bincount(place, weights, absent.size))[place]
    return float(logs[0]), shares


def _grown(ways: Ways, there: Vector) -> tuple[Vector, Vector, list[Vector]]:
    """Log chance of the abnormal findings for each column of weights `there`, shape (ways, rows); and for the
    way back what each live way explains, and the levels of the tree."""
    rows = np.flatnonzero(ways.alive[ways.owner])
    explains = _explained(ways.lesser[rows].T, ways.exactly[rows].T)
    leak = _explained(ways.leaks[:, :1], ways.leaks[:, 1:])
    count = there.shape[1]
    leaves = np.empty((explains.shape[0], int(ways.alive.sum()) + 1, count))
    leaves[:, -1] = leak
    if rows.size:
        first = np.flatnonzero(np.diff(ways.cause[rows], prepend=-1))
        leaves[:, :-1] = np.add.reduceat(explains[:, :, None] * there[rows], first, axis=1)
        leaves[0, :-1] += ways.absent[ways.alive][:, None]
    whole = leaves.sum(axis=0)
    union, levels = union_of(leaves / np.where(whole > 0, whole, 1.0))
    with np.errstate(divide="ignore"):
        return np.log(union[-1]) + np.log(whole).sum(axis=0), explains, levels


def _explained(lesser: Vector, exactly: Vector) -> Vector:
    """(2**F, N) chance of each subset of the findings, from (F, N) chances of each alone."""
    out = np.ones((1, lesser.shape[1]))
    for low, high in zip(lesser, exactly, strict=True):
        out = np.concatenate((out * low, out * high))
    return out
