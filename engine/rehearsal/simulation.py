"""Simulated cars and the people who look at them, drawn from the knowledge's own chances.

A car has causes, and every check a result: the largest that any present cause or the leak gives
(noisy-MAX, as in `network`). The person who looks may misread it or not know. A result stays as it
is until a repair removes a cause that shows in it. Every draw is named, so that a car answers the
same to whoever asks, in whatever order: two ways of working can be compared on the very same car.
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from comeback.engine.belief.evidence import CODELESS
from comeback.engine.belief.network import Network, Vehicle, build_network, fits
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.vocabulary import FEATURES, can_be_built

MOST_DRAWS = 4000
"""Cars drawn until one has a complaint; a service after which nothing is ever noticed has none."""


@dataclass(frozen=True)
class Chance:
    """Numbers in [0, 1) by name: equal names give equal numbers, whatever was asked before."""

    seed: int

    def of(self, *names: str | int) -> float:
        """The number called `names`, from 53 bits of a BLAKE2 digest."""
        text = "/".join(map(str, (self.seed, *names)))
        digest = hashlib.blake2b(text.encode(), digest_size=8).digest()
        return (int.from_bytes(digest, "big") >> 11) / float(1 << 53)

    def pick(self, weights: Sequence[float], *names: str | int) -> int:
        """Position drawn in proportion to `weights`."""
        left = self.of(*names) * sum(weights)
        for position, weight in enumerate(weights):
            left -= weight
            if left < 0:
                return position
        return max(k for k, weight in enumerate(weights) if weight > 0)


@dataclass(frozen=True)
class Comeback:
    """One simulated comeback as it drives in: `causes` are present, `vehicle` is how the car is built."""

    service: str
    complaint: str
    causes: tuple[str, ...]
    vehicle: Vehicle
    seed: int


@dataclass
class Car:
    """A car whose checks give results; `present` shrinks as it is repaired."""

    knowledge: KnowledgeBase
    chance: Chance
    present: set[str]
    vehicle: Mapping[str, str] = field(default_factory=dict)
    _changes: dict[str, int] = field(default_factory=dict)
    _done: dict[str, int] = field(default_factory=dict)

    def result(self, check: str) -> str:
        """The true result of `check` now."""
        return self.knowledge.checks[check].names[self._gives(check)[0]]

    def reasons(self, check: str) -> frozenset[str]:
        """Present causes that give `check` the abnormal result that it has; empty if it is as expected."""
        return self._gives(check)[1]

    def _gives(self, check: str) -> tuple[int, frozenset[str]]:
        known, times = self.knowledge, self._changes.get(check, 0)
        number = self.chance.pick(known.leak(check), check, times)
        causes: set[str] = set()
        for cause in sorted(self.present):
            if check not in known.causes[cause].shows:
                continue
            one = self.chance.pick(known.chances(cause, check), check, times, cause)
            if one and one >= number:
                causes = {cause} if one > number else causes | {cause}
                number = one
        return number, frozenset(causes)

    def repair(self, repair: str) -> None:
        """Remove what the repair removes; results that a removed cause showed in are drawn again."""
        known = self.knowledge
        times = self._done[repair] = self._done.get(repair, 0) + 1
        for cause, chance in known.repairs[repair].removes.items():
            if cause in self.present and self.chance.of(repair, times, cause) < chance:
                self.present.discard(cause)
                for check in known.causes[cause].shows:
                    if not known.checks[check].lasting:
                        self._changes[check] = self._changes.get(check, 0) + 1


@dataclass(frozen=True)
class Slack:
    """How people answer: chance of a wrong result, and of "don't know", for what one has to look at.

    What is unmistakable is told better and what takes knowledge worse, unless they err as often at everything, `even`.
    """

    wrong: float = 0.0
    unknown: float = 0.0
    even: bool = False

    def rates(self, check: Check) -> tuple[float, float]:
        """Chance of "don't know" and of a wrong result for this check."""
        times = 1.0 if self.even else check.sureness.errors
        return min(1.0, self.unknown * times), min(1.0, self.wrong * times)


CAREFUL = Slack()
TELLS_LATER = 0.5
"""Chance that who did not know can tell when it is asked once more; judged, no source."""


@dataclass
class Person:
    """Somebody who answers for a car. A misreading stays until it is taken back or the car is repaired."""

    car: Car
    name: str
    slack: Slack = CAREFUL
    _second_looks: set[str] = field(default_factory=set)

    def answer(self, check: str, epoch: int = 0) -> str | None:
        """What this person says: the true result, another one, or None for "don't know"."""
        true, chance = self.car.result(check), self.car.chance
        if check in self._second_looks:  # a second look on purpose is a careful one
            return true
        roll = chance.of(self.name, check, epoch)
        unknown, wrong = self.slack.rates(self.car.knowledge.checks[check])
        if roll < unknown:
            return None
        if roll < unknown + wrong:
            others = [name for name in self.car.knowledge.checks[check].names if name != true]
            return others[chance.pick([1.0] * len(others), self.name, check, epoch, "other")]
        return true

    def try_again(self, check: str) -> None:
        """Asked once more after a "don't know", some can tell."""
        if self.car.chance.of(self.name, check, "again") < TELLS_LATER:
            self.look_again(check)

    def look_again(self, check: str) -> None:
        """From now on the answer for `check` is the true one."""
        self._second_looks.add(check)


def car_of(knowledge: KnowledgeBase, comeback: Comeback) -> Car:
    """The car of a comeback, as it drives in."""
    return Car(knowledge, Chance(comeback.seed), set(comeback.causes), dict(comeback.vehicle))


def complaints_shown(car: Car, service: str) -> list[str]:
    """Complaints after `service` that the car's symptoms bear out and that a present cause is behind."""
    return [
        complaint.id
        for complaint in car.knowledge.complaints.values()
        if complaint.after((service,))
        and all(car.result(check) == result for check, result in complaint.reports.items())
        and culprits(car, complaint.id)
    ]


def culprits(car: Car, complaint: str) -> frozenset[str]:
    """Present causes behind the complaint: they give the results that it reports."""
    reports = car.knowledge.complaints[complaint].reports
    return frozenset().union(*(car.reasons(check) for check in reports))


def draw_comeback(
    knowledge: KnowledgeBase,
    seed: int,
    service: str | None = None,
    complaint: str | None = None,
) -> Comeback | None:
    """A comeback drawn from the knowledge; None if no car of MOST_DRAWS has such a complaint.

    Causes are present with their frequencies, each on its own, so that several are there at times;
    the car's build is drawn evenly among those that are built, and the complaint among those that the car bears out.
    """
    rng = np.random.default_rng([seed, 0])
    for attempt in range(MOST_DRAWS):
        done = service or list(knowledge.services)[int(rng.integers(len(knowledge.services)))]
        build = _build(knowledge, rng)
        network = build_network(knowledge, (done,))
        there = rng.random(network.prior.size) < network.prior
        named = (network.causes[k] for k in np.flatnonzero(there))
        causes = {cause for cause in named if fits(knowledge.causes[cause].only_if, tuple(build.items()))}
        if not causes:
            continue
        car = Car(knowledge, Chance(int(Chance(seed).of("car", attempt) * 2**53)), causes, build)
        fitting = [name for name in complaints_shown(car, done) if complaint in (None, name)]
        if fitting and not _codeless(car, network):
            chosen = fitting[int(rng.integers(len(fitting)))]
            return Comeback(done, chosen, tuple(sorted(causes)), tuple(sorted(build.items())), car.chance.seed)
    return None


def _codeless(car: Car, network: Network) -> bool:
    """True for nearly all cars drawn with the check-engine light on and no stored code: real ones hardly exist."""
    known = car.knowledge
    lights = [check.id for check in known.checks.values() if check.stores_codes and check.id in network.observables]
    if not known.lit({light: car.result(light) for light in lights}):
        return False
    lists = [check for check in known.code_lists if check.id in network.observables]
    return all(car.result(check.id) == check.expected for check in lists) and car.chance.of("codeless") >= CODELESS


def _build(knowledge: KnowledgeBase, rng: np.random.Generator) -> dict[str, str]:
    """How a car is built: each feature drawn evenly, again where no such car is built; no kind that is not covered."""
    covered = {feature: [v for v in values if v not in knowledge.not_covered] for feature, values in FEATURES.items()}
    while True:
        build = {feature: values[int(rng.integers(len(values)))] for feature, values in covered.items()}
        if can_be_built(build):
            return build
