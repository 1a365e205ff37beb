"""Exact posterior over all sets of causes, any number at once, without listing them.

With few findings what the causes explain is united in a tree (`subset_union`), with more the causes are
summed out one by one (`forward_backward`); both give the same to the last digits. Every term is a probability, nothing
is subtracted, so no digits are lost (the inclusion-exclusion form, Heckerman 1989, from memory, loses
them: tests/benchmarks).
"""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

import numpy as np

from comeback.engine.belief.elimination_order import elimination_order, reweighed
from comeback.engine.belief.evidence import Evidence
from comeback.engine.belief.forward_backward import backward, forward
from comeback.engine.belief.network import Network, Vector
from comeback.engine.belief.presence import Presences, presences_of, traces
from comeback.engine.belief.subset_union import explained_by_others, union_of
from comeback.engine.errors import ImpossibleFindings

FEW = 7
"""Abnormal findings up to which the tree is quicker than elimination (tests/benchmarks/bench_belief.py)."""


@dataclass(frozen=True)
class Belief:
    """Probability of each cause given the findings, shape (causes,).

    `present`: it is there now. `was_present`: it was there before any repair. `log_evidence`: natural
    logarithm of the probability of all findings together. `live`: indices of causes that can explain an abnormal
    finding. `presences`: what the belief was made of.
    """

    network: Network
    present: Vector
    was_present: Vector
    log_evidence: float
    live: tuple[int, ...]
    presences: Presences = field(repr=False, compare=False)

    def probability(self, cause: str) -> float:
        """Chance that `cause` is present now."""
        return float(self.present[self.network.index(cause)])


def posterior(network: Network, evidence: Evidence) -> Belief:
    """Belief after the evidence.

    Raises ImpossibleFindings if the evidence has probability zero, TooManyFindings if more than
    `elimination_order.MAX_OPEN` abnormal findings must be held open at once.

    Worked by hand: a coil connector left loose on 10 of 100 cars makes a misfire with chance 0.8, a worn spark plug
    on 5 of 100 with 0.9, anything else with 0.01. No misfire at all: 0.99 * (1 - 0.10 * 0.8) * (1 - 0.05 * 0.9) =
    0.8698. A misfire and the loose connector: 0.10 * (1 - 0.99 * 0.2 * 0.955) = 0.0811, so 0.0811 / 0.1302 = 0.62;
    the worn plug 0.05 * (1 - 0.99 * 0.1 * 0.92) / 0.1302 = 0.35.

    >>> from comeback.engine.belief.network import Observable
    >>> from comeback.engine.belief.evidence import Sighting
    >>> misfire = Observable("misfire", np.array([0.99, 0.01]), {0: np.array([0.2, 0.8]), 1: np.array([0.1, 0.9])})
    >>> cars = Network(("loose-connector", "worn-plug"), np.array([0.10, 0.05]), {"misfire": misfire})
    >>> belief = posterior(cars, Evidence((Sighting("misfire", 1),)))
    >>> belief.present.round(4).tolist(), round(math.exp(belief.log_evidence), 4)
    ([0.6229, 0.3491], 0.1302)
    """
    presences = presences_of(network, evidence)
    present, was = network.prior.copy(), network.prior.copy()
    log, shares = _tree(presences) if len(presences.leaks) <= FEW else _swept(presences)
    total = log + float(_constant(presences, presences.there[:, None])[0])
    if total == -math.inf:
        raise ImpossibleFindings(tuple(sighting.check for sighting in evidence.sightings))
    idle = ~presences.alive[presences.owner]
    shares[idle] = presences.there[idle] / (presences.absent + presences.mass(presences.there))[presences.owner[idle]]
    was[presences.touched], present[presences.touched] = (
        presences.mass(shares),
        presences.mass(shares * presences.still),
    )
    return Belief(network, present, was, total, tuple(presences.live.tolist()), presences)


def log_evidence(network: Network, evidence: Evidence) -> float:
    """Log chance of the evidence; minus infinity if impossible. Raises what `posterior` raises of width."""
    presences = presences_of(network, evidence)
    return logs_without(network, presences, [()])[0]


def logs_without(network: Network, presences: Presences, groups: Sequence[Collection[str]]) -> list[float]:
    """For each group: log chance of the evidence and of the group's causes being absent."""
    gone = np.zeros((len(network.causes), len(groups)), bool)
    for column, group in zip(gone.T, groups, strict=True):
        column[[network.places[name] for name in group if name in network.places]] = True
    there = np.where(gone[presences.cause], 0.0, presences.there[:, None])
    gone[presences.touched] = False  # the others are absent whatever was found
    with np.errstate(divide="ignore"):
        apart = np.log(np.where(gone, 1 - network.prior[:, None], 1.0)).sum(axis=0)
    return [float(log) for log in _logs(presences, there) + apart]


def logs_of_the_rest(network: Network, evidence: Evidence, presences: Presences, checks: Sequence[str]) -> list[float]:
    """For each check: log chance of all findings but those made at it. `presences`: those of the evidence.

    A result as expected leaves the weights of the presences when it is left out, so that those are summed side by side.
    """
    own = [[s for s in evidence.sightings if s.check == check] for check in checks]
    expected = [seen[0] for seen in own if len(seen) == 1 and not seen[0].result]
    bears, _, exactly = traces(network, expected, presences.cause, presences.gone)
    leaks = np.array([network.observables[s.check].leak[0] for s in expected])
    with np.errstate(divide="ignore", invalid="ignore"):
        there = presences.there[:, None] / np.where(bears, exactly, 1.0)
        sums = _logs(presences, there) - np.log(leaks) if expected else leaks
    known = {s.check: float(log) for s, log in zip(expected, sums, strict=True) if math.isfinite(log)}
    rest = {check: tuple(s for s in evidence.sightings if s.check != check) for check in checks if check not in known}
    known |= {check: log_evidence(network, Evidence(others, evidence.removals)) for check, others in rest.items()}
    return [known[check] for check in checks]


def _logs(presences: Presences, there: Vector) -> Vector:
    """(rows,) log chance of all findings for each column of weights `there`, shape (I, rows)."""
    if len(presences.leaks) <= FEW:
        logs = _grown(presences, there)[0]
    else:
        order = elimination_order(presences)
        logs = np.array([forward(reweighed(order, weights), []) for weights in there.T])
    return np.asarray(logs + _constant(presences, there))


def _constant(presences: Presences, there: Vector) -> Vector:
    """(rows,) log chance of what has no part in explaining: expected results and idle causes, whose presences weigh
    `there`, shape (I, rows)."""
    idle = np.flatnonzero(~presences.alive[presences.owner])
    if not idle.size:
        return np.full(there.shape[1], presences.expected)
    first = np.flatnonzero(np.diff(presences.owner[idle], prepend=-1))
    alone = presences.absent[presences.owner[idle[first]], None] + np.add.reduceat(there[idle], first, axis=0)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(alone).sum(axis=0) + presences.expected)


def _swept(presences: Presences) -> tuple[float, Vector]:
    """Log chance of the abnormal findings, and the chance of each presence given them, by elimination."""
    order, kept, shares = elimination_order(presences), [], np.zeros(presences.cause.size)  # type: ignore[var-annotated]
    log = forward(order, kept)
    if log > -math.inf:
        backward(order, kept, shares)
    return log, shares


def _tree(presences: Presences) -> tuple[float, Vector]:
    """Log chance of the abnormal findings, and the chance of each presence given them, by the tree of subsets."""
    logs, explains, levels = _grown(presences, presences.there[:, None])
    shares = np.zeros(presences.cause.size)
    if logs[0] == -math.inf or not explains.size:
        return float(logs[0]), shares
    root = np.zeros((explains.shape[0], 1))
    root[-1] = 1.0
    others = explained_by_others(levels, int(presences.alive.sum()) + 1, root)[:, :-1, 0]  # the last leaf is the leak
    rows = np.flatnonzero(presences.alive[presences.owner])
    place = np.cumsum(presences.alive)[presences.owner[rows]] - 1
    weights = presences.there[rows] * np.einsum("si,si->i", explains, others[:, place])
    absent = presences.absent[presences.alive] * others[0]
    shares[rows] = weights / (absent + np.bincount(place, weights, absent.size))[place]
    return float(logs[0]), shares


def _grown(presences: Presences, there: Vector) -> tuple[Vector, Vector, list[Vector]]:
    """Log chance of the abnormal findings for each column of weights `there`, shape (ways, rows); and for the
    way back what each live way explains, and the levels of the tree."""
    rows = np.flatnonzero(presences.alive[presences.owner])
    explains = _explained(presences.lesser[rows].T, presences.exactly[rows].T)
    leak = _explained(presences.leaks[:, :1], presences.leaks[:, 1:])
    count = there.shape[1]
    leaves = np.empty((explains.shape[0], int(presences.alive.sum()) + 1, count))
    leaves[:, -1] = leak
    if rows.size:
        first = np.flatnonzero(np.diff(presences.cause[rows], prepend=-1))
        leaves[:, :-1] = np.add.reduceat(explains[:, :, None] * there[rows], first, axis=1)
        leaves[0, :-1] += presences.absent[presences.alive][:, None]
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
