"""The oracle: plain enumeration of every set of causes, straight from the definition of noisy-MAX."""

from itertools import product

import numpy as np

from comeback.engine.belief.evidence import STILL_THERE, Evidence, removal_weights
from comeback.engine.belief.network import Network


def enumerate_posterior(network: Network, evidence: Evidence) -> tuple[np.ndarray, np.ndarray, float]:
    """(present now, present before any repair, probability of the evidence) by brute force."""
    ways = []
    for i, cause in enumerate(network.causes):
        prior = float(network.prior[i])
        ways.append([(0, 1 - prior), *removal_weights(prior, evidence.removals.get(cause, ()))])
    n = len(network.causes)
    now, was, total = np.zeros(n), np.zeros(n), 0.0
    for combination in product(*ways):
        weight = float(np.prod([w for _, w in combination]))
        for sighting in evidence.sightings:
            weight *= likelihood(network, sighting, [gone for gone, _ in combination])
        total += weight
        now += weight * np.array([gone == STILL_THERE for gone, _ in combination])
        was += weight * np.array([gone > 0 for gone, _ in combination])
    return now / total, was / total, total


def likelihood(network, sighting, gone):
    """P(result | set) = P(result or less) - P(less), products of cumulative distributions."""
    observable = network.observables[sighting.check]

    def at_most(r):
        value = observable.leak[: r + 1].sum()
        for i, chances in observable.links.items():
            if gone[i] > sighting.epoch:
                value *= chances[: r + 1].sum()
        return value

    return at_most(sighting.result) - (at_most(sighting.result - 1) if sighting.result else 0.0)
