"""The most probable sets of causes, listed until they hold a wanted share of the belief.

Planning needs sets one can count over. The exact pass of `belief` gives the normaliser, so the
share of the mass that the list holds is certified, not guessed.

    B   shape (sets, items): which ways to be present each set holds; an item is a (cause, mode)
    w   shape (sets,): weights, summing to 1 over the list
"""

import heapq
import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from comeback.engine.belief import Belief, posterior
from comeback.engine.evidence import STILL_THERE, Evidence, cause_modes
from comeback.engine.network import Network, Vector

Flags = npt.NDArray[np.bool_]
WANTED_SHARE = 0.999
MOST_SETS = 4000


@dataclass(frozen=True)
class Hypotheses:
    """Sets of live causes. `now`: shape (sets, live), present now; `weights`: shape (sets,), sum 1.

    `live` maps columns to cause indices. `share` is the certified part of the belief the list holds.
    """

    belief: Belief
    live: tuple[int, ...]
    now: Flags
    weights: Vector
    share: float

    def causes(self, row: int) -> tuple[str, ...]:
        """Ids of the causes present now in set `row`."""
        return tuple(self.belief.network.causes[self.live[k]] for k in np.flatnonzero(self.now[row]))


@dataclass(frozen=True)
class _Item:
    cause: int
    gone: int
    log_odds: float  # against the cause being absent, expected results included
    lesser: Vector  # (findings,) log chance that it gives less than the result seen
    at_most: Vector  # (findings,) log chance that it gives no more than the result seen


def probable_sets(network: Network, evidence: Evidence, share: float = WANTED_SHARE) -> Hypotheses:
    """Sets of live causes in order of probability until `share` is held or MOST_SETS are listed.

    Grows sets one cause at a time, best first, so a set is reached through its likeliest part.
    Raises what `posterior` raises.
    """
    belief = posterior(network, evidence)
    items, base, offset = _items(network, evidence, belief)
    rows, logs = _grow(items, base, share, belief.log_evidence - offset)
    held = np.exp(np.array(logs) + offset - belief.log_evidence)
    order = np.argsort(-held, kind="stable")
    live = belief.live
    column = {cause: k for k, cause in enumerate(live)}
    now = np.zeros((len(rows), len(live)), dtype=bool)
    for r, row in enumerate(order):
        for k in rows[row]:
            if items[k].gone == STILL_THERE:
                now[r, column[items[k].cause]] = True
    weights = held[order]
    return Hypotheses(belief, live, now, weights / weights.sum(), min(1.0, float(weights.sum())))


def _items(network: Network, evidence: Evidence, belief: Belief) -> tuple[list[_Item], tuple[Vector, Vector], float]:
    """Ways to be present; the leak's log chances; log weight of what does not depend on the set."""
    findings = evidence.abnormal
    items, offset = [], 0.0
    for cause in cause_modes(network, evidence):
        if not cause.live:
            offset += math.log(cause.absent + sum(mode.weight * mode.neutral for mode in cause.modes))
            continue
        absent = max(cause.absent, 1e-300)  # a certain cause: absent weighs nothing
        offset += math.log(absent)
        for mode in cause.modes:
            lesser, at_most = np.zeros(len(findings)), np.zeros(len(findings))
            for bit, lo, exactly in mode.bits:
                lesser[bit], at_most[bit] = _log(lo), _log(lo + exactly)
            odds = _log(mode.weight * mode.neutral) - math.log(absent)
            items.append(_Item(cause.index, mode.gone, odds, lesser, at_most))
    leaks = [network.observables[f.check].leak for f in findings]
    lo = np.array([_log(float(x[: f.result].sum())) for x, f in zip(leaks, findings, strict=True)])
    hi = np.array([_log(float(x[: f.result + 1].sum())) for x, f in zip(leaks, findings, strict=True)])
    for sighting in evidence.sightings:
        if sighting.result == 0:
            offset += _log(float(network.observables[sighting.check].leak[0]))
    return items, (lo, hi), offset


def _log(value: float) -> float:
    return math.log(value) if value > 0 else -1e4  # finite, so that sums stay defined


def _log_weight(odds: float, lesser: Vector, at_most: Vector) -> float:
    """log of odds times the chance of exactly the results seen: at_most * (1 - lesser/at_most)."""
    with np.errstate(divide="ignore"):
        return odds + float(np.sum(at_most + np.log(-np.expm1(np.minimum(lesser - at_most, -1e-300)))))


def _grow(
    items: list[_Item], base: tuple[Vector, Vector], share: float, log_mass: float
) -> tuple[list[tuple[int, ...]], list[float]]:
    """Best-first over sets of items; children add one item of a later cause."""
    rows: list[tuple[int, ...]] = []
    logs: list[float] = []
    # A set that explains nothing yet must still be expanded: it is ranked by what it could become.
    start = (0.0, *base)
    heap: list[tuple[float, tuple[int, ...], tuple[float, Vector, Vector]]] = [(0.0, (), start)]
    seen: set[tuple[int, ...]] = {()}
    held = 0.0
    while heap and len(rows) < MOST_SETS and held < share:
        _, row, (odds, lesser, at_most) = heapq.heappop(heap)
        weight = _log_weight(odds, lesser, at_most)
        rows.append(row)
        logs.append(weight)
        held += math.exp(min(0.0, weight - log_mass))
        taken = {items[k].cause for k in row}
        for k, item in enumerate(items):
            if item.cause in taken:
                continue
            child = tuple(sorted((*row, k)))
            if child in seen:
                continue
            seen.add(child)
            state = (odds + item.log_odds, lesser + item.lesser, at_most + item.at_most)
            heapq.heappush(heap, (-_log_weight(*state), child, state))
    return rows, logs
