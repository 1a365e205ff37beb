"""The listed sets against the exact belief: certified share, marginals, certain causes."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from comeback.engine.belief import posterior
from comeback.engine.evidence import Evidence, Sighting
from comeback.engine.hypotheses import probable_sets
from comeback.engine.network import Network, Observable


def network_of(rng, causes, checks):
    observables = {
        f"x{k}": Observable(
            f"x{k}",
            np.array([0.97, 0.02, 0.01]),
            {i: rng.dirichlet(np.ones(3)) for i in range(causes) if rng.random() < 0.5},
        )
        for k in range(checks)
    }
    return Network(tuple(f"c{i}" for i in range(causes)), rng.uniform(0.001, 0.2, causes), observables)


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32), repairs=st.booleans())
def test_full_list_gives_the_exact_marginals(seed, repairs):
    rng = np.random.default_rng(seed)
    network = network_of(rng, 6, 4)
    evidence = Evidence(
        tuple(Sighting(f"x{k}", int(rng.integers(0, 3)), int(repairs and k % 2)) for k in range(4)),
        {"c0": ((1, 0.8),), "c1": ((1, 0.5),)} if repairs else {},
    )
    sets = probable_sets(network, evidence, share=1.0)
    exact = posterior(network, evidence)
    assert sets.share == pytest.approx(1.0, abs=1e-9)
    marginal = sets.weights @ sets.now
    assert np.allclose(marginal, exact.present[list(sets.live)], atol=1e-9)


def test_share_is_certified_against_the_exact_mass():
    rng = np.random.default_rng(5)
    network = network_of(rng, 12, 5)
    evidence = Evidence(tuple(Sighting(f"x{k}", 1) for k in range(4)))
    part = probable_sets(network, evidence, share=0.5)
    full = probable_sets(network, evidence, share=1.0)
    assert 0.5 <= part.share < 1.0
    assert len(part.weights) < len(full.weights)
    first = full.weights[: len(part.weights)].sum()
    assert part.share <= first + 1e-9
