"""Value of information against published decisions; utilities in the source's own units."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from comeback.engine.choosing.value_of_information import best_expected_utility, value_of_information


def value_of_perfect_information(p, u):
    """Gain from knowing the state before acting; no test is worth more."""
    return float(p @ u.max(axis=0)) - best_expected_utility(p, u)


def test_used_car_whose_test_cannot_change_the_decision():
    """Russell & Norvig, AIMA 3rd ed., exercise 16.17 (adapted from Pearl 1988); solution read in a solution set.

    Price 1500, worth 2000, repair 700 if bad, P(good) .7, P(pass|good) .8, P(pass|bad) .35: EU 290, VOI 0.
    """
    p = np.array([0.7, 0.3])
    likelihood = np.array([[0.8, 0.2], [0.35, 0.65]])
    u = np.array([[500.0, -200.0], [0.0, 0.0]])  # buy, leave
    assert best_expected_utility(p, u) == pytest.approx(290)
    after = p[:, None] * likelihood / (p @ likelihood)
    assert after[0] == pytest.approx([0.8421, 0.4179], abs=5e-5)
    assert (u[0] @ after) == pytest.approx([389.47, 92.53], abs=0.01)  # printed truncated
    assert value_of_information(p, likelihood, u) == 0.0
    assert value_of_perfect_information(p, u) == pytest.approx(60)


@pytest.mark.parametrize("n", [2, 5, 10])
def test_oil_in_one_of_n_blocks(n):
    """AIMA, section on the value of information: a survey of one block is worth C/n (read as quoted in a course).

    One of n blocks, price C/n each, holds oil worth C; the survey tells whether it is block 3 (here: the first).
    """
    c = 1.0
    p = np.full(n, 1 / n)
    u = np.array([[c * (i == j) - c / n for j in range(n)] for i in range(n)])
    survey = np.stack((np.arange(n) == 0, np.arange(n) != 0), axis=1).astype(float)
    assert value_of_information(p, survey, u) == pytest.approx(c / n)


def test_oil_wildcatter():
    """Raiffa, Decision Analysis, 1968, pp. 34-36 (inputs read in notes; answers from memory, confirmed by computation).

    Expected value without the test 20, with it 32.5, so 12.5; perfect information 35.
    """
    joint = np.array([[0.3, 0.15, 0.05], [0.09, 0.12, 0.09], [0.02, 0.08, 0.1]])
    p = joint.sum(axis=1)
    u = np.array([[-70.0, 50.0, 200.0], [0.0, 0.0, 0.0]])  # drill, do not drill
    assert best_expected_utility(p, u) == pytest.approx(20)
    assert value_of_information(p, joint / p[:, None], u) == pytest.approx(12.5)
    assert value_of_perfect_information(p, u) == pytest.approx(35)


def test_seismic_test_of_a_drilling_site():
    """Managerial Economics (ISBN 9781118041581), ch. 13, pp. 544-546: perfect 120,000, this test 20,000."""
    p = np.array([0.4, 0.6])  # wet, dry
    u = np.array([[600_000.0, -200_000.0], [0.0, 0.0]])
    likelihood = np.array([[0.5 * 0.6 / 0.4, 0.5 * 0.2 / 0.4], [0.5 * 0.4 / 0.6, 0.5 * 0.8 / 0.6]])
    assert best_expected_utility(p, u) == pytest.approx(120_000)
    assert value_of_perfect_information(p, u) == pytest.approx(120_000)
    assert value_of_information(p, likelihood, u) == pytest.approx(20_000)


@settings(max_examples=100, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_no_information_is_worth_less_than_nothing_or_more_than_perfect(seed):
    rng = np.random.default_rng(seed)
    p, u = rng.dirichlet(np.ones(4)), rng.normal(size=(3, 4))
    likelihood = rng.dirichlet(np.ones(3), size=4)
    value = value_of_information(p, likelihood, u)
    assert 0.0 <= value <= value_of_perfect_information(p, u) + 1e-12
