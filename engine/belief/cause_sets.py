"""Sets of causes that planning can count over, with the certified share of the belief they hold.

`explanations` lists sets of present causes, most probable first, until a wanted share is held; the exact
posterior gives the normalizer, so the share is known, not guessed. Where many weak causes hang together no
list is long enough; exact draws then stand for the part it misses. Each set is stripped of the causes that
the findings do not need, because a repair ends a comeback when what explains the complaint is gone; a cause
that is merely there too stays in the background.

    S sets, I items (presences of live causes), F abnormal findings, L live causes
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from comeback.engine.belief.evidence import Evidence
from comeback.engine.belief.exact_posterior import Belief, posterior
from comeback.engine.belief.network import Network, Vector
from comeback.engine.belief.presence import Flags, Indices, Presences
from comeback.engine.belief.sampling import ABSENT, draw_sets
from comeback.engine.belief.set_growth import Items, grow, items_of

WANTED_SHARE = 0.97
"""Share of the belief, 0 to 1, that a list of sets is to hold; judged: more sets change no advice."""
MOST_SETS = 4000
"""Sets listed at most; judged, to bound memory and time."""
GROWN_AT_FIRST = 800
"""Sets of one size grown further before, if they do not hold enough, MOST_SETS are."""
ENOUGH = 0.96
"""Share of the belief below which the list is filled up with sets drawn from the belief itself."""
DRAWS = 500
"""Sets drawn where the list is too short; judged: the part of the belief they stand for is known to 2 %."""
NEGLIGIBLE, LEAST = 0.01, 1e-9
"""A set that could hold no more than this part of the share left out (LEAST at the least), even if it explained
everything, is not grown."""
NEEDED = 0.7
"""A cause is not needed if the findings are at least this likely, relatively, without it."""
TINY = 1e-300
"""Stands for a chance of 0 under a fraction."""


@dataclass(frozen=True)
class CauseSets:
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

    @cached_property
    def members(self) -> Indices:
        """(S, ...): columns of the causes of each set, padded with L, which is no cause."""
        return members_of(self.now, self.now.shape[1])

    def causes(self, row: int) -> tuple[str, ...]:
        """Ids of the causes of set `row`."""
        return tuple(self.belief.network.causes[self.live[k]] for k in np.flatnonzero(self.now[row]))


def members_of(now: Flags, padding: int, least: int = 0) -> Indices:
    """(S, ...): columns of the causes of each set, filled up with `padding`; at least `least` wide."""
    sets, columns = np.nonzero(now)
    size = now.sum(axis=1)
    out = np.full((len(now), max(least, int(size.max(initial=0)))), padding, np.intp)
    out[sets, np.arange(sets.size) - np.repeat(np.cumsum(size) - size, size)] = columns
    return out


def explanations(
    network: Network,
    evidence: Evidence,
    share: float = WANTED_SHARE,
    chance: np.random.Generator | None = None,
    belief: Belief | None = None,
) -> CauseSets:
    """Sets of live causes that hold `share` of the belief, without the causes that the findings do not need.

    Equal sets are merged. If the list holds less than ENOUGH, sets drawn with `chance` (a fixed one if none is
    given, so that the same case gives the same sets) stand for the rest. `belief`: the posterior, if it is there.
    Raises what `posterior` raises.
    """
    belief, items, rows, held = _listed(network, evidence, share, belief)
    certified = min(1.0, float(held.sum()))  # rounding may not lift it over 1
    if certified < ENOUGH:
        rows, held = _filled_up(belief.presences, items, (rows, held), chance or np.random.default_rng(0))
    now = _present(_only_needed(rows, items), items, belief)
    now, weights = _merged(now, held / held.sum())
    marginal = weights @ now
    present = belief.present[list(belief.live)]
    background = np.clip((present - marginal) / np.maximum(1 - marginal, 1e-12), 0.0, 1.0)
    return CauseSets(belief, belief.live, now, weights, certified, background)


def _listed(
    network: Network, evidence: Evidence, share: float, belief: Belief | None = None
) -> tuple[Belief, Items, Indices, Vector]:
    """Belief, items, and the sets with the part of the belief that each holds, heaviest first."""
    belief = belief or posterior(network, evidence)
    items = items_of(belief.presences)
    mass, negligible = belief.log_evidence - items.offset, max(LEAST, NEGLIGIBLE * (1 - share))
    for most in (GROWN_AT_FIRST, MOST_SETS):
        rows, logs = grow(items, mass, negligible, most)
        held = np.exp(logs - mass)
        if len(rows) < most or held.sum() >= min(share, ENOUGH):
            break
    order = np.argsort(-held, kind="stable")
    enough = int(np.searchsorted(np.cumsum(held[order]), share)) + 1
    order = order[: min(enough, MOST_SETS)]
    return belief, items, rows[order], held[order]


def _filled_up(
    presences: Presences, items: Items, listed: tuple[Indices, Vector], chance: np.random.Generator
) -> tuple[Indices, Vector]:
    """The list, and draws that are not in it sharing the mass it does not hold."""
    rows, held = listed
    drawn = draw_sets(presences, DRAWS, chance)
    if drawn is None:
        return rows, held
    first = np.searchsorted(items.cause, np.unique(items.cause))
    numbers = np.where(drawn == ABSENT, -1, drawn + first[None])
    width = max(rows.shape[1], int((numbers >= 0).sum(axis=1).max(initial=0)))
    packed = -np.sort(-numbers, axis=1)[:, :width]
    rows = np.pad(rows, ((0, 0), (0, width - rows.shape[1])), constant_values=-1)
    known = {row.tobytes() for row in -np.sort(-rows, axis=1)}
    new = np.array([row.tobytes() not in known for row in packed])
    if not new.any():
        return rows, held
    extra = np.full(int(new.sum()), max(0.0, 1 - held.sum()) / new.sum())
    return np.concatenate((rows, packed[new])), np.concatenate((held, extra))


def _present(rows: Indices, items: Items, belief: Belief) -> Flags:
    """(S, L): causes of each set that are still there."""
    column = {cause: k for k, cause in enumerate(belief.live)}
    now = np.zeros((len(rows), len(belief.live) + 1), dtype=bool)
    places = np.array([column[int(c)] for c in items.cause] + [len(belief.live)], np.intp)
    shown = np.where((rows >= 0) & np.append(items.still, False)[rows], rows, -1)
    for k in range(rows.shape[1]):
        now[np.arange(len(rows)), places[shown[:, k]]] = True
    return now[:, :-1]


def _only_needed(rows: Indices, items: Items) -> Indices:
    """Strip each set, least needed cause first, while the findings stay nearly as likely without it."""
    rows, left = rows.copy(), np.arange(len(rows))
    while left.size and rows.shape[1]:
        whole = np.maximum(items.chance(rows[left]), TINY)
        ratio = np.where(rows[left] >= 0, items.without_each(rows[left]) / whole[:, None], 0.0)
        worst = ratio.argmax(axis=1)
        drop = ratio[np.arange(left.size), worst] > NEEDED
        left = left[drop]  # from the others nothing more can be taken
        rows[left, worst[drop]] = -1
    return rows


def _merged(now: Flags, weights: Vector) -> tuple[Flags, Vector]:
    """Equal sets become one; the heaviest first."""
    numbers: dict[bytes, int] = {}
    group = np.array([numbers.setdefault(row.tobytes(), len(numbers)) for row in np.packbits(now, axis=1)], np.intp)
    first = np.flatnonzero(np.diff(np.maximum.accumulate(group), prepend=-1))
    total = np.bincount(group, weights, first.size).astype(np.float64)
    order = np.argsort(-total, kind="stable")
    return now[first[order]], total[order]
