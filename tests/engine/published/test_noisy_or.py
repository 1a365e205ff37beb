"""Noisy-OR and noisy-MAX against published tables and against cross-checks computed beside them."""

import math

import numpy as np
import pytest

from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.exact_posterior import log_evidence, posterior
from comeback.engine.belief.network import Network, Observable
from support.probable_sets import probable_sets

ROUNDING = 1e-12  # a few dozen operations on doubles


def network_of(causes, priors, observables):
    """`observables`: id -> (leak distribution, {cause index: distribution})."""
    return Network(
        tuple(causes),
        np.array(priors, dtype=float),
        {
            name: Observable(name, np.array(leak), {i: np.array(chances) for i, chances in links.items()})
            for name, (leak, links) in observables.items()
        },
    )


def chance(network, check, result):
    return math.exp(log_evidence(network, Evidence((Sighting(check, result),))))


def fever(priors):
    links = {0: (0.6, 0.4), 1: (0.2, 0.8), 2: (0.1, 0.9)}
    return network_of(("cold", "flu", "malaria"), priors, {"fever": ((1.0, 0.0), links)})


# Russell & Norvig, Artificial Intelligence: A Modern Approach, noisy-OR example (2nd/3rd ed. section
# 14.3; the book itself not opened); numbers read in lecture slides "Noisy-OR Example", slide 30.
# Inhibitors .6, .2, .1.
FEVER_TABLE = {
    (0, 0, 0): 0.0,
    (0, 0, 1): 0.9,
    (0, 1, 0): 0.8,
    (0, 1, 1): 0.98,
    (1, 0, 0): 0.4,
    (1, 0, 1): 0.94,
    (1, 1, 0): 0.88,
    (1, 1, 1): 0.988,
}


@pytest.mark.parametrize(("present", "published"), FEVER_TABLE.items())
def test_fever_table_comes_from_certain_and_excluded_causes(present, published):
    assert chance(fever(present), "fever", 1) == pytest.approx(published, abs=ROUNDING)


def test_fever_with_invented_priors_equals_enumeration():
    """Own cross-check, not published: the table above, priors .1, .05, .01, all 8 sets listed."""
    network = fever((0.1, 0.05, 0.01))
    assert chance(network, "fever", 1) == pytest.approx(0.0866944, abs=ROUNDING)
    hot, cool = (posterior(network, Evidence((Sighting("fever", r),))).present for r in (1, 0))
    assert hot == pytest.approx([0.4950538904473645, 0.4670013288055514, 0.10471725970766278], abs=ROUNDING)
    assert cool == pytest.approx([0.0625, 0.010416666666666668, 0.0010090817356205853], abs=ROUNDING)


def burglar(priors):
    alarm = ((0.999, 0.001), {0: (0.01, 0.99), 1: (0.99, 0.01)})
    return network_of(("burglar", "earthquake"), priors, {"alarm": alarm})


# MacKay, Information Theory, Inference, and Learning Algorithms, CUP 2003, ch. 21 p. 294: inputs and this
# table read. The posteriors below are from memory, confirmed by computation (.505 is "no burglar", not
# "burglar").
ALARM_TABLE = {(0, 0): 0.001, (1, 0): 0.99001, (0, 1): 0.01099, (1, 1): 0.9901099}


@pytest.mark.parametrize(("present", "published"), ALARM_TABLE.items())
def test_leak_joins_the_causes_in_the_alarm_table(present, published):
    assert chance(burglar(present), "alarm", 1) == pytest.approx(published, abs=ROUNDING)


def test_earthquake_explains_the_burglar_away():
    rung = Evidence((Sighting("alarm", 1),))
    assert posterior(burglar((0.001, 0.001)), rung).probability("burglar") == pytest.approx(0.495, abs=5e-4)
    shaken = posterior(burglar((0.001, 1.0)), rung).probability("burglar")
    assert shaken == pytest.approx(0.08, abs=5e-3)  # as printed
    assert shaken == pytest.approx(0.08272203038086329, abs=ROUNDING)


# Own numbers; the formula read in Lucas, Certainty-factor-like Structures in Bayesian Belief Networks,
# section 3.4, and its leaky form quoted from Diez & Druzdzel 2006. Results: none < mild < severe.
MILD_CASES = [
    ((1, 1), (1.0, 0.0, 0.0), (0.3, 0.42, 0.28)),
    ((1, 1), (0.9, 0.08, 0.02), (0.27, 0.4356, 0.2944)),
    ((1, 0), (0.9, 0.08, 0.02), (0.45, 0.334, 0.216)),
    ((0, 0), (0.9, 0.08, 0.02), (0.9, 0.08, 0.02)),
]


@pytest.mark.parametrize(("present", "leak", "expected"), MILD_CASES)
def test_three_results_combine_by_the_largest(present, leak, expected):
    links = {0: (0.5, 0.3, 0.2), 1: (0.6, 0.3, 0.1)}
    network = network_of(("a", "b"), present, {"x": (leak, links)})
    assert [chance(network, "x", r) for r in range(3)] == pytest.approx(expected, abs=ROUNDING)


def four_causes():
    """Own numbers; brute force and inclusion-exclusion (Heckerman 1989, from memory) agreed to 1e-14."""
    table = [[0.9, 0.1, 0, 0.5], [0, 0.6, 0.3, 0], [0.2, 0, 0.8, 0.4], [0, 0, 0.5, 0.9]]
    leaks = [0.01, 0.02, 0.05, 0.001]
    observables = {
        f"f{k}": ((1 - leak, leak), {i: (1 - p, p) for i, p in enumerate(row) if p})
        for k, (leak, row) in enumerate(zip(leaks, table, strict=True))
    }
    network = network_of("ABCD", (0.02, 0.05, 0.1, 0.01), observables)
    return network, Evidence((Sighting("f0", 1), Sighting("f2", 1), Sighting("f1", 0)))


def test_four_causes_and_three_findings_equal_brute_force():
    network, evidence = four_causes()
    belief = posterior(network, evidence)
    expected = [0.5950895471127823, 0.044660240162329334, 0.24204270096935337, 0.27650235470702167]
    assert belief.present == pytest.approx(expected, abs=ROUNDING)
    assert math.exp(belief.log_evidence) == pytest.approx(0.008016837489417348, abs=ROUNDING)


def test_likeliest_sets_and_the_mass_within_few_causes():
    network, evidence = four_causes()
    sets = probable_sets(network, evidence, share=1.0)
    top = [(sets.causes(row), sets.weights[row]) for row in range(4)]
    assert [causes for causes, _ in top] == [("A",), ("D",), ("A", "C"), ("C",)]
    assert [weight for _, weight in top] == pytest.approx([0.447497, 0.222421, 0.122979, 0.063884], abs=5e-7)
    size = sets.now.sum(axis=1)
    kept = [float(sets.weights[size <= most].sum()) for most in (1, 2, 3)]
    assert kept == pytest.approx([0.7961377444940414, 0.9948956825287573, 0.9999702794179701], abs=1e-9)
