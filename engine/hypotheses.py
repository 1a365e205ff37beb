"""Sets of causes that planning can count over, with the certified share of the belief they hold.

`probable_sets` lists whole sets of present causes until a wanted share is held; the exact pass of
`belief` gives the normaliser, so the share is known, not guessed. `explanations` strips each set of
causes that the findings do not need, because a repair ends a comeback when what explains the
complaint is gone; a cause that is merely there too stays in the background.

    S sets, I items (ways to be present: a cause in a mode), F abnormal findings, L live causes
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from comeback.engine.belief import Belief, posterior
from comeback.engine.evidence import STILL_THERE, Evidence, cause_modes
from comeback.engine.network import Network, Vector

Flags = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.intp]
WANTED_SHARE = 0.999
MOST_SETS = 4000
MOST_PER_SIZE = 20_000
NEGLIGIBLE = 1e-6
"""A set that could hold no more than this share, even if it explained everything, is not grown."""
NEEDED = 0.7
"""A cause is not needed if the findings are at least this likely, relatively, without it."""
_NEVER = -1e4  # log of zero, kept finite so that sums stay defined


@dataclass(frozen=True)
class Hypotheses:
    """Sets of causes present now with weights summing to 1 over the list.

    `now`: shape (S, L); `weights`: (S,); `live` maps columns to cause indices; `share`: certified part
    of the belief the list holds; `background`: (L,) chance that a cause outside a set is there too.
    """

    belief: Belief
    live: tuple[int, ...]
    now: Flags
    weights: Vector
    share: float
    background: Vector

    def causes(self, row: int) -> tuple[str, ...]:
        """Ids of the causes of set `row`."""
        return tuple(self.belief.network.causes[self.live[k]] for k in np.flatnonzero(self.now[row]))


@dataclass(frozen=True)
class _Items:
    """Ways to be present. Arrays by item; `lesser` and `at_most` (I, F) and leak rows (F,) in logs."""

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


def probable_sets(network: Network, evidence: Evidence, share: float = WANTED_SHARE) -> Hypotheses:
    """Sets of live causes, most probable first, until `share` is held or MOST_SETS are listed.

    Raises what `posterior` raises.
    """
    belief, items, rows, held = _listed(network, evidence, share)
    now = _present(rows, items, belief)
    return Hypotheses(belief, belief.live, now, held / held.sum(), _certified(held), np.zeros(len(belief.live)))


def explanations(network: Network, evidence: Evidence, share: float = WANTED_SHARE) -> Hypotheses:
    """The probable sets without the causes that the findings do not need; equal ones merged."""
    belief, items, rows, held = _listed(network, evidence, share)
    now = _present(_only_needed(rows, items), items, belief)
    now, weights = _merged(now, held / held.sum())
    marginal = weights @ now
    present = belief.present[list(belief.live)]
    background = np.clip((present - marginal) / np.maximum(1 - marginal, 1e-12), 0.0, 1.0)
    return Hypotheses(belief, belief.live, now, weights, _certified(held), background)


def _listed(network: Network, evidence: Evidence, share: float) -> tuple[Belief, _Items, Indices, Vector]:
    """Belief, items, and the sets with the part of the belief that each holds, heaviest first."""
    belief = posterior(network, evidence)
    items = _items(network, evidence)
    rows, logs = _grow(items, belief.log_evidence - items.offset)
    held = np.exp(logs - (belief.log_evidence - items.offset))
    order = np.argsort(-held, kind="stable")
    enough = int(np.searchsorted(np.cumsum(held[order]), share)) + 1
    order = order[: min(enough, MOST_SETS)]
    return belief, items, rows[order], held[order]


def _certified(held: Vector) -> float:
    return min(1.0, float(held.sum()))


def _items(network: Network, evidence: Evidence) -> _Items:
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
    return _Items(
        np.array(cause, np.intp), np.array(still, bool), np.array(odds), np.array(lesser).reshape(shape),
        np.array(at_most).reshape(shape), low, high, offset,
    )  # fmt: skip


def _log(value: float) -> float:
    return math.log(value) if value > 0 else _NEVER


def _grow(items: _Items, log_mass: float) -> tuple[Indices, Vector]:
    """All sets that could hold more than NEGLIGIBLE: (S, size) item numbers padded with -1, log weights.

    Grown by size; a set whose odds alone are negligible is dropped with everything above it, which is
    safe as long as adding a cause does not raise the odds (odds above 1 are allowed for).
    """
    count = items.odds.size
    spare = float(np.maximum(items.odds, 0.0).sum())
    least = log_mass + math.log(NEGLIGIBLE)
    lesser, at_most = items.leak_lesser[None], items.leak_at_most[None]
    rows, odds = np.empty((1, 0), np.intp), np.zeros(1)
    kept, logs = [rows], [odds + items.log_chance(lesser, at_most)]
    for _ in range(count):
        old, new = _pairs(rows, odds, items, least - spare)
        if not old.size:
            break
        rows = np.column_stack((rows[old], new))
        odds = odds[old] + items.odds[new]
        lesser, at_most = lesser[old] + items.lesser[new], at_most[old] + items.at_most[new]
        kept.append(rows)
        logs.append(odds + items.log_chance(lesser, at_most))
    width = max(row.shape[1] for row in kept)
    padded = [np.pad(row, ((0, 0), (0, width - row.shape[1])), constant_values=-1) for row in kept]
    return np.concatenate(padded), np.concatenate(logs)


def _pairs(rows: Indices, odds: Vector, items: _Items, least: float) -> tuple[Indices, Indices]:
    """(set, item) pairs that grow a set by an item of a later cause; the most promising if too many."""
    last = items.cause[rows[:, -1]] if rows.shape[1] else np.full(len(rows), -1)
    good = (items.cause[None] > last[:, None]) & (odds[:, None] + items.odds[None] > least)
    old, new = np.nonzero(good)
    if old.size > MOST_PER_SIZE:
        best = np.argpartition(-(odds[old] + items.odds[new]), MOST_PER_SIZE)[:MOST_PER_SIZE]
        old, new = old[best], new[best]
    return old, new


def _present(rows: Indices, items: _Items, belief: Belief) -> Flags:
    """(S, L): causes of each set that are still there."""
    column = {cause: k for k, cause in enumerate(belief.live)}
    now = np.zeros((len(rows), len(belief.live) + 1), dtype=bool)
    places = np.array([column[int(c)] for c in items.cause] + [len(belief.live)], np.intp)
    shown = np.where((rows >= 0) & np.append(items.still, False)[rows], rows, -1)
    for k in range(rows.shape[1]):
        now[np.arange(len(rows)), places[shown[:, k]]] = True
    return now[:, :-1]


def _only_needed(rows: Indices, items: _Items) -> Indices:
    """Strip each set, least needed cause first, while the findings stay nearly as likely without it."""
    lesser = np.vstack((items.lesser, np.zeros(items.lesser.shape[1])))  # row -1: padding adds nothing
    at_most = np.vstack((items.at_most, np.zeros(items.at_most.shape[1])))
    rows = rows.copy()
    for _ in range(rows.shape[1]):
        lo, hi = lesser[rows].sum(axis=1) + items.leak_lesser, at_most[rows].sum(axis=1) + items.leak_at_most
        whole = items.log_chance(lo, hi)
        ratio = np.full(rows.shape, -np.inf)
        for k in range(rows.shape[1]):
            without = items.log_chance(lo - lesser[rows[:, k]], hi - at_most[rows[:, k]])
            ratio[:, k] = np.where(rows[:, k] >= 0, without - whole, -np.inf)
        worst = ratio.argmax(axis=1)
        drop = ratio[np.arange(len(rows)), worst] > math.log(NEEDED)
        if not drop.any():
            break
        rows[drop, worst[drop]] = -1
    return rows


def _merged(now: Flags, weights: Vector) -> tuple[Flags, Vector]:
    """Equal sets become one; the heaviest first."""
    unique, inverse = np.unique(now, axis=0, return_inverse=True)
    total: Vector = np.bincount(inverse.ravel(), weights=weights, minlength=len(unique)).astype(np.float64)
    order = np.argsort(-total, kind="stable")
    return unique[order], total[order]
