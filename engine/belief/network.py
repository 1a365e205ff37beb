"""The two-layer network of causes and observables that belief reasons over.

    c  a cause, present or absent, independent of the others beforehand
    p  its prior, 0 to 1
    x  an observable: something with ordered results, result 0 the expected one
    a present c gives x a distribution over its results; the leak gives another

Present causes and the leak combine by noisy-MAX: the result is the largest that any of
them gives (Díez 1993; leaky form Díez & Druzdzel 2006, both cited from memory). With two
results this is the leaky noisy-OR (Pearl 1988, from memory).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from comeback.kb.fields import Condition
from comeback.kb.schema import KnowledgeBase

Vector = npt.NDArray[np.float64]
Vehicle = tuple[tuple[str, str], ...]
"""Known vehicle conditions, sorted: (("injection", "port"), ...). An absent one is unknown."""


Trace = tuple[npt.NDArray[np.bool_], Vector, Vector]
"""(causes,) which bear on a result; chance that each gives a lesser one, that it gives exactly this one."""


@dataclass(frozen=True)
class Observable:
    """Something with ordered results, the expected one first.

    `leak` and each of `links` (cause index -> distribution) have shape (results,) and sum to 1.
    """

    id: str
    leak: Vector
    links: Mapping[int, Vector]


@dataclass(frozen=True, eq=False)
class Network:
    """Causes with priors, shape (causes,), and the observables they bear on."""

    causes: tuple[str, ...]
    prior: Vector
    observables: Mapping[str, Observable]

    @cached_property
    def links(self) -> "Links":
        """All links side by side, for predictions; made once."""
        return _links(self.observables)

    @cached_property
    def places(self) -> dict[str, int]:
        """Position of each cause by its id; made once."""
        return {cause: index for index, cause in enumerate(self.causes)}

    @cached_property
    def _traces(self) -> dict[tuple[str, int], Trace]:
        """Those asked for before."""
        return {}

    def trace(self, check: str, result: int) -> Trace:
        """What each cause has to do with this result of `check`; 1 and 0 for one that does not bear on it."""
        if (check, result) not in self._traces:
            bears, less, exact = np.zeros(len(self.causes), bool), np.ones(len(self.causes)), np.zeros(len(self.causes))
            for cause, chances in self.observables[check].links.items():
                bears[cause], less[cause], exact[cause] = True, chances[:result].sum(), chances[result]
            self._traces[check, result] = bears, less, exact
        return self._traces[check, result]

    @cached_property
    def linked(self) -> Mapping[str, Observable]:
        """The observables that some cause bears on: all others tell nothing."""
        return {name: observable for name, observable in self.observables.items() if observable.links}

    def index(self, cause: str) -> int:
        """Position of `cause`; KeyError if it is not in this network."""
        return self.places[cause]


@dataclass(frozen=True)
class Links:
    """Every (cause, result) pair as arrays: `at_most` is the chance that the cause gives no more than it.

    A column is one result of one observable; `slices` says whose, `leak_at_most` has shape (columns,).
    """

    cause: npt.NDArray[np.intp]
    column: npt.NDArray[np.intp]
    at_most: Vector
    leak_at_most: Vector
    slices: Mapping[str, slice]


def _links(observables: Mapping[str, Observable]) -> Links:
    """All (cause, result) pairs of the observables side by side, distributions added up along the results."""
    cause: list[int] = []
    column: list[int] = []
    at_most: list[float] = []
    leaks, slices, used = [], {}, 0
    for observable in observables.values():
        size = observable.leak.size
        slices[observable.id] = slice(used, used + size)
        leaks.append(np.minimum(np.cumsum(observable.leak), 1.0))
        for index, chances in observable.links.items():
            cause += [index] * size
            column += range(used, used + size)
            at_most += np.minimum(np.cumsum(chances), 1.0).tolist()
        used += size
    whole = np.concatenate(leaks) if leaks else np.zeros(0)
    return Links(np.array(cause, np.intp), np.array(column, np.intp), np.array(at_most), whole, slices)


def fits(only_if: Condition, vehicle: Vehicle) -> bool:
    """True unless a known vehicle condition contradicts `only_if`; unknown keeps."""
    if not only_if:
        return True
    known = dict(vehicle)
    return all(known.get(feature, kinds[0]) in kinds for feature, kinds in only_if.items() if kinds)


def build_network(
    knowledge: KnowledgeBase, services: tuple[str, ...], vehicle: Vehicle = (), one_of: bool = False
) -> Network:
    """The network for a car that had `services` done: their slips, wear, and what is unrelated.

    `one_of`: only one of them was done, and it is not known which. Each counts as equally likely (judgement), and that
    the slips of two exclude each other is left out: the chance of each cause by itself is right.
    """
    return _cached(knowledge, services, vehicle, one_of)


@lru_cache(maxsize=64)
def _cached(knowledge: KnowledgeBase, services: tuple[str, ...], vehicle: Vehicle, one_of: bool) -> Network:
    """`build_network`, kept for the last 64 cars: the same car is asked about at every step."""
    done = [(service,) for service in services] if one_of else [services]  # one_of: whichever it was
    causes = [
        cause for cause in knowledge.causes.values() if fits(cause.only_if, vehicle) and any(map(cause.after, done))
    ]
    links: dict[str, dict[int, Vector]] = {}
    for i, cause in enumerate(causes):
        for check in cause.shows:
            links.setdefault(check, {})[i] = np.array(knowledge.chances(cause.id, check))
    observables = {
        name: Observable(name, np.array(knowledge.leak(name)), links.get(name, {}))
        for name, check in knowledge.checks.items()
        if fits(check.only_if, vehicle) and (not check.services or not set(check.services).isdisjoint(services))
    }
    share = 1 / len(services) if one_of and services else 1.0
    prior = np.array([cause.frequency / 1000 * (share if cause.kind.needs_service else 1.0) for cause in causes])
    return Network(tuple(cause.id for cause in causes), prior, observables)
