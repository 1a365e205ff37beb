"""What checks would show if they were made now, for every set of causes at once.

S sets    L live causes    C columns: all results of the asked checks, side by side
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

import numpy as np

from comeback.engine.belief.cause_sets import CauseSets
from comeback.engine.belief.network import Network, Vector

TINY = 1e-300
"""Stands for a chance of 0 under a logarithm."""


@dataclass(frozen=True)
class Predictions:
    """Chance of each result for each set, shape (S, C); `slices` say which columns are whose."""

    chances: Vector
    slices: dict[str, slice]

    def of(self, check: str) -> Vector:
        """Chance of each result of `check`, shape (S, results), the expected one first."""
        return self.chances[:, self.slices[check]]


def predict(network: Network, sets: CauseSets, checks: Sequence[str]) -> Predictions:
    """Predict `checks`. Causes outside a set take part with the chance that they are there too."""
    links = network.links
    wide = [np.arange(links.slices[check].start, links.slices[check].stop) for check in checks]
    chosen = np.concatenate([np.empty(0, np.intp), *wide])  # columns of the network, side by side as asked for
    ends = accumulate(columns.size for columns in wide)
    slices = {check: slice(end - own.size, end) for check, own, end in zip(checks, wide, ends, strict=True)}
    starts = [own.start for own in slices.values()]
    local = np.full(links.leak_at_most.size, -1, np.intp)  # column of the network -> column asked for
    local[chosen] = np.arange(chosen.size)
    asked = local[links.column] >= 0
    cause, column, at_most = links.cause[asked], local[links.column[asked]], links.at_most[asked]
    place = np.full(len(network.causes), -1, np.intp)
    place[list(sets.live)] = np.arange(len(sets.live))
    live = place[cause] >= 0
    there_too = sets.belief.present[cause]
    there_too[live] = sets.background[place[cause[live]]]
    outside = np.log(np.maximum(1 - there_too + there_too * at_most, TINY))
    ceiling = np.log(np.maximum(links.leak_at_most[chosen], TINY))
    ceiling = ceiling + np.bincount(column, weights=outside, minlength=ceiling.size)
    lift = np.zeros((len(sets.live) + 1, ceiling.size))  # the last row: no cause
    lift[place[cause[live]], column[live]] = np.log(np.maximum(at_most[live], TINY)) - outside[live]
    table = np.broadcast_to(ceiling, (len(sets.weights), ceiling.size)).copy()
    for one in sets.members.T:
        table += lift[one]
    table = np.exp(table, out=table)
    chances = table.copy()
    chances[:, 1:] -= table[:, :-1]
    chances[:, starts] = table[:, starts]
    return Predictions(np.maximum(chances, 0.0), slices)
