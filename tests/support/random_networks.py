"""Random networks and evidence for the comparison with other libraries: fixed seeds, drawn once per test."""

import numpy as np

from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.network import Network, Observable


def noisy_or_network(rng, causes, findings, parents):
    """Two results each; every finding has `parents` causes drawn at random, and its own leak."""
    observables = {}
    for k in range(findings):
        linked = sorted(rng.choice(causes, min(parents, causes), replace=False).tolist())
        leak = rng.uniform(0.001, 0.05)
        links = {i: np.array([1 - p, p]) for i, p in zip(linked, rng.uniform(0.2, 0.95, len(linked)), strict=True)}
        observables[f"f{k}"] = Observable(f"f{k}", np.array([1 - leak, leak]), links)
    return _network(rng, causes, observables)


def noisy_max_network(rng, causes, findings, parents):
    """Two to four results each."""
    observables = {}
    for k in range(findings):
        linked = sorted(rng.choice(causes, min(parents, causes), replace=False).tolist())
        size = int(rng.integers(2, 5))
        leak = rng.dirichlet([20.0] + [1.0] * (size - 1))
        links = {i: rng.dirichlet(np.ones(size)) for i in linked}
        observables[f"f{k}"] = Observable(f"f{k}", leak, links)
    return _network(rng, causes, observables)


def _network(rng, causes, observables):
    return Network(tuple(f"c{i}" for i in range(causes)), rng.uniform(0.002, 0.2, causes), observables)


def evidence_of(rng, network, abnormal):
    """The first `abnormal` findings seen at some result above the expected one, the others as expected."""
    sightings = []
    for k, (name, observable) in enumerate(network.observables.items()):
        result = int(rng.integers(1, observable.leak.size)) if k < abnormal else 0
        sightings.append(Sighting(name, result))
    return Evidence(tuple(sightings))


def table(observable):
    """P(result | parents), shape (results, 2, ..., 2), parents in the order of `links`."""
    at_most = np.cumsum(observable.leak)
    for chances in observable.links.values():
        at_most = np.stack((at_most, (at_most.T * np.cumsum(chances)).T), axis=-1)
    return np.diff(at_most, axis=0, prepend=0.0)
