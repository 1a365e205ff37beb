"""Textbook networks that are not two layers deep, carried exactly by several networks that are.

Give every root but one a fixed value, and what is left is one cause with observables: a two-layer
network that holds any table. Each configuration of the fixed roots has a weight; the engine supplies
the chance of the evidence under it and the posterior of the one cause; Bayes' rule over the
configurations does the rest.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.exact_posterior import log_evidence, posterior
from comeback.engine.belief.network import Network, Observable

Case = tuple[float, Network, Evidence]


def one_cause(prior: float, tables: Mapping[str, tuple[float, float]], seen: Mapping[str, bool]) -> tuple:
    """Network and evidence for one cause; `tables`: (chance of yes when it is absent, when present)."""
    observables, sightings = {}, []
    for name, (absent, present) in tables.items():
        rises = present >= absent  # a cause can only raise a result, so "no" is expected if it raises "yes"
        observables[name] = _observable(name, *((absent, present) if rises else (1 - absent, 1 - present)))
        if name in seen:
            sightings.append(Sighting(name, int(seen[name] == rises)))
    return Network(("cause",), np.array([prior]), observables), Evidence(tuple(sightings))


def _observable(name: str, absent: float, present: float) -> Observable:
    keep = (1 - present) / (1 - absent) if absent < 1 else 1.0
    return Observable(name, np.array([1 - absent, absent]), {0: np.array([keep, 1 - keep])})


@dataclass(frozen=True)
class Mixture:
    """Chance of the evidence, weight of each configuration given it, and the cause's posterior."""

    evidence: float
    share: Mapping[tuple[bool, ...], float]
    cause: float

    def root(self, position: int) -> float:
        """Chance that the root at `position` of the configurations is true."""
        return sum(share for values, share in self.share.items() if values[position])


def mix(cases: Mapping[tuple[bool, ...], Case]) -> Mixture:
    """Bayes' rule over the configurations of the fixed roots."""
    mass, present = {}, {}
    for values, (weight, network, evidence) in cases.items():
        mass[values] = weight * math.exp(log_evidence(network, evidence))
        if mass[values]:
            present[values] = float(posterior(network, evidence).present[0])
    total = sum(mass.values())
    share = {values: part / total for values, part in mass.items()}
    return Mixture(total, share, sum(share[values] * chance for values, chance in present.items()))
