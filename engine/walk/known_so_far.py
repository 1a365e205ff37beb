"""What is known of a case: its network, the findings as evidence, and the belief that follows from them."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

from comeback.engine.belief.cause_sets import CauseSets, explanations
from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.exact_posterior import Belief, posterior
from comeback.engine.belief.network import Network, build_network
from comeback.engine.case.case import Answer, Case
from comeback.kb.schema import Check, Complaint, KnowledgeBase
from comeback.kb.vocabulary import Audience

START, STARTING = "start", ("starts", "long-crank")
"""The check that asks whether the engine starts, and the results with which it does."""
KEPT = 32
"""Beliefs kept, in case nothing new has been found."""


@dataclass(frozen=True)
class KnownSoFar:
    """Knowledge and case together; everything here is computed, nothing is kept."""

    knowledge: KnowledgeBase
    case: Case
    audience: Audience

    @cached_property
    def network(self) -> Network:
        """Causes and checks that exist for this service and this car."""
        unknown = not self.case.services and bool(self.case.service_unknown)
        services = tuple(self.knowledge.services) if unknown else self.case.services
        return build_network(self.knowledge, services, self.case.vehicle, one_of=unknown)

    @cached_property
    def complaints(self) -> tuple[Complaint, ...]:
        """All that the customer complains of, the main complaint first; none until one is chosen."""
        known = self.knowledge.complaints
        return tuple(known[name] for name in self.case.complaints if name in known)

    @cached_property
    def stated(self) -> dict[str, str]:
        """Check -> result that the complaints say; of two for one check the one that dominates."""
        out: dict[str, str] = {}
        for complaint in self.complaints:
            for check, result in complaint.reports.items():
                out[check] = max(out.get(check, result), result, key=self.knowledge.checks[check].names.index)
        return out

    @cached_property
    def evidence(self) -> Evidence:
        """The complaint and all answers as sightings; "don't know" is no sighting."""
        results: dict[str, dict[int, str | None]] = {check: {0: result} for check, result in self.stated.items()}
        for answer in self.case.answers:
            seen = results.setdefault(answer.check, {})
            if answer.again and answer.result is not None and answer.result not in seen.values():
                seen.clear()  # what was found before was a slip
            if answer.result is not None or answer.epoch not in seen:
                seen[answer.epoch] = answer.result
        sightings = (
            Sighting(check, number, epoch)
            for check, seen in results.items()
            if check in self.network.observables
            for epoch, number in self._telling(check, seen)
        )
        # in one order, so that it does not matter in which order the findings were made
        ordered = tuple(sorted(sightings, key=lambda seen: (seen.check, seen.epoch)))
        return Evidence(ordered, self._removals())

    def _telling(self, check: str, seen: Mapping[int, str | None]) -> list[tuple[int, int]]:
        """(epoch, result number) of the answers that tell something each.

        What a present cause shows it goes on showing. So an abnormal result that a repair did not
        change counts once, as the later one: what explains it is still there. An expected result
        counts once, as the earlier one: a repair does not make a car worse.
        """
        names = self.knowledge.checks[check].names
        out: list[tuple[int, int]] = []
        for epoch, result in sorted(seen.items()):
            if result not in names:  # "don't know", or a result that the knowledge no longer has
                continue
            number = names.index(result)
            if out and out[-1][1] == number:
                out[-1] = (epoch, number) if number else out[-1]
            else:
                out.append((epoch, number))
        return out

    def _removals(self) -> dict[str, tuple[tuple[int, float], ...]]:
        """Cause -> (epoch, chance that it is gone) of each repair tried on it, in order."""
        removals: dict[str, tuple[tuple[int, float], ...]] = {}
        for done in self.case.repairs:
            for cause, chance in self.knowledge.repairs[done.repair].removes.items():
                removals[cause] = (*removals.get(cause, ()), (done.epoch, chance))
        return removals

    @cached_property
    def belief(self) -> Belief:
        """Exact posterior of every cause."""
        return belief_of(self.network, self.evidence)

    @cached_property
    def sets(self) -> CauseSets:
        """The sets of causes that the findings need, most probable first."""
        return sets_of(self.network, self.evidence)

    @cached_property
    def _answers(self) -> dict[str, list[Answer]]:
        """All answers by check."""
        out: dict[str, list[Answer]] = {}
        for answer in self.case.answers:
            out.setdefault(answer.check, []).append(answer)
        return out

    @cached_property
    def results(self) -> dict[str, str | None]:
        """Latest answer by check, the complaint's own included."""
        known: dict[str, str | None] = dict(self.stated)
        for answer in self.case.answers:
            known[answer.check] = answer.result
        return known

    @property
    def dead(self) -> bool:
        """True if the engine does not start: what only a running engine shows cannot be seen."""
        return self.results.get(START) not in (None, *STARTING)

    def _found(self, check: Check) -> bool:
        return self.results.get(check.id) not in (None, check.expected, *check.harmless)

    def tells_of(self, repair: str, check: Check, result: str) -> float:
        """How many times as often what the repair removes gives this result as a car without it; 0 if it never does."""
        known, number = self.knowledge, check.names.index(result)
        causes = (c for c in known.repairs[repair].removes if c in self.network.places)
        ways = [known.chances(c, check.id)[number] for c in causes if check.id in known.causes[c].shows]
        return max(ways, default=0.0) / max(known.leak(check.id)[number], 1e-6)

    def repair_candidates(self, least: float = 0.02) -> list[tuple[str, float]]:
        """Causes present now with at least this chance, most probable first."""
        present = self.belief.present
        pairs = [(self.network.causes[i], float(present[i])) for i in self.belief.live if present[i] >= least]
        return sorted(pairs, key=lambda pair: (-pair[1], pair[0]))


@lru_cache(maxsize=KEPT)
def belief_of(network: Network, evidence: Evidence) -> Belief:
    """`posterior`, kept: advice given, or the bay taking over, is no new finding."""
    return posterior(network, evidence)


@lru_cache(maxsize=KEPT)
def sets_of(network: Network, evidence: Evidence) -> CauseSets:
    """`explanations`, kept as the belief is."""
    return explanations(network, evidence, belief=belief_of(network, evidence))
