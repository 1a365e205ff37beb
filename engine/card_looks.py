"""What to look for before a repair: the check that tells its cause best from the others of the same complaint."""

import math
from functools import cache, cached_property

import numpy as np

from comeback.engine.network import Network, Vector, build_network
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.vocabulary import Audience

MEANT = 0.5
"""A repair is meant for a cause that it removes at least this often."""
RARELY = 1e-3
"""Smoothing of the worth of a look: chance of a false sign."""
SHARP, SENSITIVE = (1, 2.0), (3, 8.0)
"""How the worth of a look is weighed: power of the chance that the sign shows, minutes beside its own."""
LEAST = 0.3
"""A sign that is seen less often than this with the cause is not worth looking for."""


class Looks:
    """The looks for one complaint after one service; `usual` is the share of each cause if it were there alone.

    As a rule a look is sharp: quick, and rarely a false sign. `sensitive`: it rarely misses its cause.
    """

    def __init__(self, knowledge: KnowledgeBase, service: str, complaint: str, sensitive: bool = False) -> None:
        self.knowledge = knowledge
        self.reported = knowledge.complaints[complaint].reports
        self.power, self.handling = SENSITIVE if sensitive else SHARP
        self.network: Network = build_network(knowledge, (service,))
        self.before, self._table = cache(self._before), cache(self._chances)

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
        """Check and result that speak most, per minute, for the causes that this repair is the one for."""
        causes = self._own(repair)
        if not causes:
            return None
        share = self.usual[causes] / max(float(self.usual[causes].sum()), 1e-300)
        best: tuple[float, str, str] = (0.0, "", "")
        for name in dict.fromkeys(n for k in causes for n in self.knowledge.causes[self.network.causes[k]].shows):
            check = self.knowledge.checks[name]
            if Audience.BAY not in check.audience or name in self.reported or name not in self.network.observables:
                continue
            table = self._table(name)
            seen = self.usual @ table
            for number, result in enumerate(check.names[1:], 1):
                chance = float(share @ table[causes, number])
                told = chance**self.power * math.log(max(chance, 1e-9) / max(float(seen[number]), RARELY))
                if chance >= LEAST:
                    best = max(best, (told / (self.handling + check.minutes), name, result))
        return (self.knowledge.checks[best[1]], best[2]) if best[1] else None

    def _own(self, repair: str) -> list[int]:
        """The causes for which no cheaper repair is meant; if there are none, all that it is meant for."""
        meant = self._meant[repair]
        mine = [k for k in meant if self._cheapest[k] == repair]
        return mine or meant

    @cached_property
    def _meant(self) -> dict[str, list[int]]:
        known = {name: k for k, name in enumerate(self.network.causes)}
        return {
            repair.id: [known[name] for name, chance in repair.removes.items() if chance >= MEANT and name in known]
            for repair in self.knowledge.repairs.values()
        }

    @cached_property
    def _cheapest(self) -> dict[int, str]:
        """Cause -> the repair meant for it that costs least, work and parts."""
        rate = self.knowledge.settings.rate_per_hour / 60
        repairs = self.knowledge.repairs.values()
        priced = sorted(repairs, key=lambda repair: (repair.minutes + repair.parts / rate, repair.id), reverse=True)
        return {k: repair.id for repair in priced for k in self._meant[repair.id]}
