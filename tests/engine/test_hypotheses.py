"""The listed sets against the exact belief: certified share, marginals, certain causes."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from comeback.engine.belief.cause_sets import NEGLIGIBLE, explanations
from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.exact_posterior import posterior
from comeback.engine.belief.network import Network, Observable
from comeback.engine.belief.sampling import ABSENT, draw_sets
from support.probable_sets import probable_sets


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
    left_out = 64 * 4 * NEGLIGIBLE  # sets there are, times what one that is not grown may hold
    assert sets.share == pytest.approx(1.0, abs=left_out)
    marginal = sets.weights @ sets.now
    assert np.allclose(marginal, exact.present[list(sets.live)], atol=2 * left_out)


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


def test_a_cause_that_is_merely_there_too_is_not_part_of_the_explanation():
    shake = Observable("shake", np.array([0.999, 0.001]), {0: np.array([0.1, 0.9]), 1: np.array([0.97, 0.03])})
    network = Network(("hose", "mat"), np.array([0.02, 0.3]), {"shake": shake})
    sets = explanations(network, Evidence((Sighting("shake", 1),)))
    assert sets.causes(0) == ("hose",)
    with_mat = probable_sets(network, Evidence((Sighting("shake", 1),)))
    assert ("hose", "mat") in [with_mat.causes(row) for row in range(len(with_mat.weights))]
    assert ("hose", "mat") not in [sets.causes(row) for row in range(len(sets.weights))]
    assert sets.background[1] > 0.2  # but it still takes part in predictions


def test_two_findings_that_need_two_causes_keep_both():
    shake = Observable("shake", np.array([0.999, 0.001]), {0: np.array([0.1, 0.9])})
    drip = Observable("drip", np.array([0.999, 0.001]), {1: np.array([0.1, 0.9])})
    network = Network(("hose", "seal"), np.array([0.02, 0.02]), {"shake": shake, "drip": drip})
    sets = explanations(network, Evidence((Sighting("shake", 1), Sighting("drip", 1))))
    assert sets.causes(0) == ("hose", "seal")


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 2**32), repairs=st.booleans())
def test_drawn_sets_have_the_exact_marginals(seed, repairs):
    rng = np.random.default_rng(seed)
    network = network_of(rng, 7, 5)
    evidence = Evidence(
        tuple(Sighting(f"x{k}", int(rng.integers(0, 3)), int(repairs and k % 2)) for k in range(5)),
        {"c0": ((1, 0.8),), "c1": ((1, 0.5),)} if repairs else {},
    )
    belief = posterior(network, evidence)
    drawn = draw_sets(belief.presences, 4000, rng)
    share = (drawn != ABSENT).mean(axis=0)
    five_sigma = 5 * np.sqrt(0.25 / 4000)
    assert np.allclose(share, belief.was_present[list(belief.live)], atol=five_sigma)


def test_draws_stand_for_what_no_list_can_hold():
    """Four findings, forty rare causes each, no leak: more than two million equally likely sets of four."""
    observables = {
        f"x{k}": Observable(
            f"x{k}", np.array([1.0, 0.0]), {i: np.array([0.2, 0.8]) for i in range(40 * k, 40 * k + 40)}
        )
        for k in range(4)
    }
    network = Network(tuple(f"c{i}" for i in range(160)), np.full(160, 0.001), observables)
    sets = explanations(network, Evidence(tuple(Sighting(f"x{k}", 1) for k in range(4))))
    assert sets.share < 0.01  # and it says so
    sizes = sets.now.sum(axis=1)
    assert sets.weights[sizes == 4].sum() > 0.9
    assert np.allclose(sets.weights @ sets.now, sets.belief.present[list(sets.live)], atol=0.1)
