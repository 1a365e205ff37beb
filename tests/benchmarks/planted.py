"""Networks for the benchmarks: two planted causes that explain every finding, the rest drawn at random.

A finding is yes or no, with a leak. Cause 0 or 1 is a parent of each finding, turn about, so that what
is seen always has a likely explanation by two causes; the other parents are any of the rest. A car has
1.5 causes on average, as on one that has come back. Same arguments, same network.
"""

import numpy as np

from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.network import Network, Observable

LEAK = 0.01
CAUSES_EXPECTED = 1.5
FINDINGS = 24
"""Findings looked at in each case; those that are not abnormal are seen as expected."""


def planted_network(causes: int, parents: int, seed: int = 1) -> Network:
    """`causes` causes and FINDINGS findings with `parents` parents each."""
    rng = np.random.default_rng((seed, causes, parents))
    prior = rng.uniform(1, 20, causes)
    prior *= CAUSES_EXPECTED / prior.sum()
    observables = {}
    for k in range(FINDINGS):
        others = rng.choice(np.arange(2, causes), min(parents - 1, causes - 2), replace=False)
        linked = [k % 2, *sorted(others.tolist())]
        chances = rng.uniform(0.3, 0.95, len(linked))
        links = {i: np.array([1 - p, p]) for i, p in zip(linked, chances.tolist(), strict=True)}
        observables[f"x{k}"] = Observable(f"x{k}", np.array([1 - LEAK, LEAK]), links)
    return Network(tuple(f"c{i}" for i in range(causes)), prior, observables)


def planted_evidence(abnormal: int) -> Evidence:
    """The first `abnormal` findings abnormal, half of them from each planted cause; the others expected."""
    return Evidence(tuple(Sighting(f"x{k}", int(k < abnormal)) for k in range(FINDINGS)))
