"""Belief against the oracle, on random networks drawn by hypothesis and on small worked ones."""

import math
from dataclasses import replace
from functools import reduce
from itertools import product
from operator import or_

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from comeback.engine.belief import exact_posterior as belief
from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.exact_posterior import log_evidence, logs_of_the_rest, logs_without, posterior
from comeback.engine.belief.network import Network, Observable
from comeback.engine.belief.presence import presences_of
from comeback.engine.belief.subset_union import explained_by_others, union_of
from comeback.engine.errors import ImpossibleFindings
from support import enumeration as oracle

NAMED_TOLERANCE = 1e-12  # rounding of a few hundred additions of doubles


def random_network(rng, causes, checks, results=3):
    observables = {}
    for k in range(checks):
        linked = [i for i in range(causes) if rng.random() < 0.6]
        size = int(rng.integers(2, results + 1))
        observables[f"x{k}"] = Observable(
            f"x{k}", rng.dirichlet(np.ones(size) * 2), {i: rng.dirichlet(np.ones(size)) for i in linked}
        )
    return Network(tuple(f"c{i}" for i in range(causes)), rng.uniform(0.001, 0.6, causes), observables)


def random_evidence(rng, network, repairs=0):
    sightings = []
    for name, observable in network.observables.items():
        for epoch in range(repairs + 1):
            if rng.random() < 0.7:
                sightings.append(Sighting(name, int(rng.integers(0, observable.leak.size)), epoch))
    removals = {}
    for epoch in range(1, repairs + 1):
        for cause in rng.choice(network.causes, 2, replace=False):
            removals[str(cause)] = (*removals.get(str(cause), ()), (epoch, float(rng.uniform(0.3, 1.0))))
    return Evidence(tuple(sightings), removals)


@settings(max_examples=150, deadline=None)
@given(seed=st.integers(0, 2**32), causes=st.integers(2, 6), checks=st.integers(1, 6), repairs=st.integers(0, 2))
def test_belief_equals_plain_enumeration(seed, causes, checks, repairs):
    rng = np.random.default_rng(seed)
    network = random_network(rng, causes, checks)
    evidence = random_evidence(rng, network, repairs)
    now, was, total = oracle.enumerate_posterior(network, evidence)
    seen = posterior(network, evidence)
    assert np.allclose(seen.present, now, atol=NAMED_TOLERANCE, rtol=0)
    assert np.allclose(seen.was_present, was, atol=NAMED_TOLERANCE, rtol=0)
    assert seen.log_evidence == pytest.approx(math.log(total), abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(seed=st.integers(0, 2**32), causes=st.integers(2, 9), checks=st.integers(1, 7), repairs=st.integers(0, 1))
def test_the_tree_and_the_sweep_give_the_same(seed, causes, checks, repairs):
    rng = np.random.default_rng(seed)
    network = random_network(rng, causes, checks)
    evidence = random_evidence(rng, network, repairs)
    excluded = [name for name in network.causes if rng.random() < 0.3]
    rare = replace(network, prior=np.where([name in excluded for name in network.causes], 0.0, network.prior))
    absent = sum(math.log(1 - network.prior[network.places[name]]) for name in excluded)
    found = {}
    for few in (99, -1):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(belief, "FEW", few)
            groups = logs_without(network, presences_of(network, evidence), [(), excluded])
            found[few] = posterior(network, evidence), groups, log_evidence(rare, evidence) + absent
    (tree, (all_there, apart), alone), (swept, again, _) = found[99], found[-1]
    assert np.allclose(tree.present, swept.present, atol=NAMED_TOLERANCE, rtol=0)
    assert np.allclose(tree.was_present, swept.was_present, atol=NAMED_TOLERANCE, rtol=0)
    assert all_there == pytest.approx(tree.log_evidence, abs=1e-9)
    assert again == pytest.approx([swept.log_evidence, apart], abs=1e-9)
    assert apart == pytest.approx(alone, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32), checks=st.integers(1, 7), repairs=st.integers(0, 1), few=st.sampled_from((99, -1)))
def test_all_findings_but_those_of_one_check(seed, checks, repairs, few):
    """Against the evidence without them, also where a cause rules the result out that was seen."""
    rng = np.random.default_rng(seed)
    network = random_network(rng, 5, checks)
    for observable in network.observables.values():
        for index in observable.links:
            if rng.random() < 0.2:
                observable.links[index][:] = np.eye(observable.leak.size)[-1]
    evidence = random_evidence(rng, network, repairs)
    seen = sorted({sighting.check for sighting in evidence.sightings})
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(belief, "FEW", few)
        found = logs_of_the_rest(network, evidence, presences_of(network, evidence), seen)
    for check, log in zip(seen, found, strict=True):
        rest = tuple(sighting for sighting in evidence.sightings if sighting.check != check)
        assert log == pytest.approx(log_evidence(network, Evidence(rest, evidence.removals)), abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**32), findings=st.integers(1, 5), leaves=st.integers(1, 4), rows=st.integers(1, 3))
def test_a_union_is_what_any_of_its_leaves_explains(seed, findings, leaves, rows):
    """Against the definition: every choice of one subset per leaf, joined."""
    size = 2**findings if findings < 4 or leaves < 4 else 4
    chances = np.random.default_rng(seed).random((size, leaves, rows))
    union, levels = union_of(chances)
    expected, others = np.zeros((size, rows)), np.zeros((size, leaves, rows))
    root = np.random.default_rng(seed + 1).random((size, rows))
    for subsets in product(range(size), repeat=leaves):
        joined = reduce(or_, subsets)
        parts = np.stack([chances[subset, leaf] for leaf, subset in enumerate(subsets)])
        expected[joined] += parts.prod(axis=0)
        for leaf, subset in enumerate(subsets):
            others[subset, leaf] += np.delete(parts, leaf, axis=0).prod(axis=0) * root[joined]
    assert np.allclose(union, expected, rtol=1e-12)
    assert np.allclose(explained_by_others(levels, leaves, root), others, rtol=1e-12)


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32), order=st.randoms())
def test_order_of_findings_does_not_matter(seed, order):
    rng = np.random.default_rng(seed)
    network = random_network(rng, 5, 5)
    evidence = random_evidence(rng, network)
    shuffled = list(evidence.sightings)
    order.shuffle(shuffled)
    one, two = posterior(network, evidence), posterior(network, Evidence(tuple(shuffled)))
    assert np.allclose(one.present, two.present, atol=NAMED_TOLERANCE, rtol=0)
    assert ((one.present >= 0) & (one.present <= 1)).all()


def test_second_cause_is_explained_away_when_the_first_is_found():
    shared = Observable("shake", np.array([0.99, 0.01]), {0: np.array([0.1, 0.9]), 1: np.array([0.1, 0.9])})
    seen = Observable("loose", np.array([0.999, 0.001]), {0: np.array([0.05, 0.95])})
    network = Network(("hose", "plug"), np.array([0.02, 0.02]), {"shake": shared, "loose": seen})
    before = posterior(network, Evidence((Sighting("shake", 1),)))
    after = posterior(network, Evidence((Sighting("shake", 1), Sighting("loose", 1))))
    assert after.probability("plug") < 0.1 * before.probability("plug")


def test_a_repair_that_did_not_help_moves_belief_to_the_other_cause():
    shared = Observable("shake", np.array([0.99, 0.01]), {0: np.array([0.1, 0.9]), 1: np.array([0.1, 0.9])})
    network = Network(("hose", "plug"), np.array([0.04, 0.02]), {"shake": shared})
    before = posterior(network, Evidence((Sighting("shake", 1),)))
    after = posterior(network, Evidence((Sighting("shake", 1), Sighting("shake", 1, epoch=1)), {"hose": ((1, 0.95),)}))
    assert before.probability("hose") > before.probability("plug")
    assert after.probability("plug") > 5 * after.probability("hose")


def test_a_certain_cause_stays_certain():
    shared = Observable("shake", np.array([1.0, 0.0]), {0: np.array([0.1, 0.9]), 1: np.array([0.1, 0.9])})
    network = Network(("hose", "plug"), np.array([1.0, 0.02]), {"shake": shared})
    seen = posterior(network, Evidence((Sighting("shake", 1),)))
    assert seen.probability("hose") == 1.0


def test_impossible_findings_are_named():
    never = Observable("spark", np.array([1.0, 0.0]), {})
    network = Network(("hose",), np.array([0.1]), {"spark": never})
    with pytest.raises(ImpossibleFindings, match="spark"):
        posterior(network, Evidence((Sighting("spark", 1),)))
    assert log_evidence(network, Evidence((Sighting("spark", 1),))) == -math.inf
