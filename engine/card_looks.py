"""What to look for before a repair: the check that tells its cause best from the others of the same complaint."""

import math
from functools import cache, cached_property

import numpy as np

from comeback.engine.network import Network, Vector, build_network
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.vocabulary import Audience

MEANT = 0.5
"""A repair is meant for a cause that it removes at least this often."""
RARELY, HANDLING = 1e-3, 2.0
"""Smoothing of the worth of a look: chance of a false sign, minutes to make it."""
LEAST = 0.3
"""A sign that is seen less often than this with the cause is not worth looking for."""


class Looks:
    """The looks for one complaint after one service; `usual` is the share of each cause if it were there alone."""

    def __init__(self, knowledge: KnowledgeBase, service: str, complaint: str) -> None:
        self.knowledge = knowledge
        self.reported = knowledge.complaints[complaint].reports
        self.network: Network = build_network(knowledge, (service,))
        self.before = cache(self._before)

    @cached_property
    def usual(self) -> Vector:
        """Shape (causes,), summing to 1."""
        weights = self.network.prior.copy()
        for check, result in self.reported.items():
            weights *= self._chances(check)[:, self.knowledge.checks[check].names.index(result)]
        return np.asarray(weights / max(float(weights.sum()), 1e-300))

    def _chances(self, check: str) -> Vector:
        """Chance of each result with each cause alone, shape (causes, results)."""
        observable = self.network.observables[check]
        table = np.tile(observable.leak, (len(self.network.causes), 1))
        for cause, chances in observable.links.items():
            table[cause] = chances
        return table

    def _before(self, repair: str) -> tuple[Check, str] | None:
        """Check and result that speak most, per minute, for the commonest cause that the repair is meant for."""
        removes = self.knowledge.repairs[repair].removes
        known = {name: k for k, name in enumerate(self.network.causes)}
        meant = [known[name] for name, chance in removes.items() if chance >= MEANT and name in known]
        if not meant:
            return None
        cause = max(meant, key=lambda k: (float(self.usual[k]), -k))
        best: tuple[float, str, str] = (0.0, "", "")
        for name in self.knowledge.causes[self.network.causes[cause]].shows:
            check = self.knowledge.checks[name]
            if Audience.BAY not in check.audience or name in self.reported or name not in self.network.observables:
                continue
            table = self._chances(name)
            seen = self.usual @ table
            for number, result in enumerate(check.names[1:], 1):
                chance = float(table[cause, number])
                told = chance * math.log(max(chance, 1e-9) / max(float(seen[number]), RARELY))
                if chance >= LEAST:
                    best = max(best, (told / (HANDLING + check.minutes), name, result))
        return (self.knowledge.checks[best[1]], best[2]) if best[1] else None
