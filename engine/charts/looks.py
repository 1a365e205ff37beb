"""What to look for before a repair: the check that tells its cause best from the others of the same complaint."""

import math
from collections.abc import Iterable, Iterator
from functools import cache, cached_property

import numpy as np

from comeback.engine.belief.network import Network, Vector, build_network
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.vocabulary import Audience, Sense

MEANT = 0.5
"""A repair is meant for a cause that it removes at least this often."""
LEAST = 0.3
"""A sign that is seen less often than this with the cause is not worth looking for."""
LEAST_ALIKE = 0.05
"""Least chance with the cause of a further result of a check that is looked at anyway; judged."""
TELLING = 8.0
"""A sign must be so many times as likely with the cause as with the others of the complaint, or none."""
HERE = 0.2
"""Chance of the cause where an end names its repair, about one of five."""
FOUND, IN_VAIN = 100.0, 100.0
"""Minutes that a sign seen spares, and that a needless repair costs beyond its work: trust, and a second visit."""
STARTING = 5.0
"""Minutes that a look with the engine on must be better: where a danger sign keeps it off, it cannot be made."""


class Looks:
    """The looks for one complaint after one service; `usual` is the share of each cause if it were there alone.

    A look is there to act on, so what matters is that no other cause shows its sign; then that it is quick.
    """

    def __init__(self, knowledge: KnowledgeBase, service: str, complaint: str) -> None:
        self.knowledge, self.service = knowledge, service
        self.reported = knowledge.complaints[complaint].reports
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

    def _before(self, repair: str) -> tuple[Check, tuple[str, ...]] | None:
        """Check and results that tell the causes that this repair is the one for best from all others.

        None if nothing tells them: a sign that others show as well would only lead to a wrong repair. Beside the
        most telling result stand the others of the check that tell them as well, as a plug that is loose or wet.
        """
        causes = self._own(repair)
        if not causes:
            return None
        share = self.usual[causes] / max(float(self.usual[causes].sum()), 1e-300)
        rest = self.usual.copy()
        rest[self._meant[repair]] = 0.0
        rest /= max(float(rest.sum()), 1e-300)
        vain = self._in_vain(repair)
        best: tuple[float, str, str] = (-math.inf, "", "")
        for check in self._askable(causes):
            table = self._table(check.id)
            seen, price = rest @ table, check.minutes + STARTING * check.runs_engine
            for number, result in enumerate(check.names[1:], 1):
                chance, false = float(share @ table[causes, number]), float(seen[number])
                if chance >= max(LEAST, TELLING * false):
                    best = max(best, (HERE * chance * FOUND - (1 - HERE) * false * vain - price, check.id, result))
        return self._with_alike(best[1], best[2], share @ self._table(best[1])[causes], rest) if best[1] else None

    def _with_alike(self, check: str, result: str, own: Vector, rest: Vector) -> tuple[Check, tuple[str, ...]]:
        """The result with those of the same check that tell the same causes; `own`: chances with them (results,)."""
        entry, false = self.knowledge.checks[check], rest @ self._table(check)
        alike = (name for k, name in enumerate(entry.names) if k and own[k] >= max(LEAST_ALIKE, TELLING * false[k]))
        kept = {result, *alike}
        return entry, tuple(name for name in entry.names if name in kept)

    def _askable(self, causes: Iterable[int]) -> Iterator[Check]:
        """The checks of the bay on which one of the causes bears, without the complaint's own and what it says anyway.

        What a driver remembers, or a repair does not change, is no sign on the car that a repair is needed. An engine
        that shakes at idle starts.
        """
        said = {*self.reported, *(needed for name in self.reported for needed in self.knowledge.checks[name].needs)}
        shown = (name for k in causes for name in self.knowledge.causes[self.network.causes[k]].shows)
        for name in dict.fromkeys(shown):
            check = self.knowledge.checks[name]
            at_the_car = Audience.BAY in check.audience and check.sense is not Sense.REMEMBER and not check.lasting
            if at_the_car and name not in said and name in self.network.observables:
                yield check

    def _in_vain(self, repair: str) -> float:
        """Minutes that the repair costs where it was not needed, with its proof."""
        entry = self.knowledge.repairs[repair]
        parts = entry.parts / self.knowledge.settings.rate_per_hour * 60
        return entry.minutes + parts + self.knowledge.checks[entry.proof.check].minutes + IN_VAIN

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
