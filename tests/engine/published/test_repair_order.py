"""Order of repairs against scheduling textbooks and small cases with every order counted.

Every figure counts confirm-all: the last candidate is repaired and proven too. One cause at a time,
each with its own certain repair, makes the two problems the same (Lin, Scheduling results applicable to
decision-theoretic troubleshooting, abstract read): weight = probability, processing time = minutes, sum
w C = expected minutes.

Not expressible with RepairCosts, so left out: precedence between repairs (the constrained order of
Pinedo's Algorithm 3.1.4), opening and closing costs shared by several repairs (cost clusters, with or
without inside information), and the elimination convention.
"""

from itertools import permutations

import numpy as np
import pytest

from comeback.engine.choosing.repair_sequence import Action, RepairCosts

NEVER = 1e6
"""Minutes for handing over, so large that every candidate is tried first."""


def plan(chances, minutes, fixes=None):
    """Plan for causes numbered from 1 and present one at a time; `fixes`: causes that each repair cures."""
    count = len(chances)
    fixes = fixes or [{c} for c in range(count)]
    cures = np.array([[float(c in fix) for c in range(count)] for fix in fixes])
    actions = [Action(str(k + 1), float(cost), cures[k]) for k, cost in enumerate(minutes)]
    costs = RepairCosts(np.eye(count, dtype=bool), actions, NEVER)
    return costs.plan(np.array(chances, dtype=float))


def expected_minutes(order, chances, minutes):
    """Sum of c_i (1 - sum of p_j done before): Kalagnanam & Henrion 1990 as quoted, see below."""
    left, total = 1.0, 0.0
    for k in order:
        total += minutes[k] * left
        left -= chances[k]
    return total


def every_order(chances, minutes):
    return sorted(expected_minutes(order, chances, minutes) for order in permutations(range(len(chances))))


def test_four_jobs_by_weight_over_time():
    """Pinedo, Scheduling: Theory, Algorithms, and Systems, Theorem 3.1.1 (WSPT) and exercise data, read
    in course notes "Scheduling 2 - Single Machine Model" (2024): order 2, 1, 3, 4, sum w C = 333.
    Weights sum to 31.
    """
    chances, minutes = np.array([6, 11, 9, 5]) / 31, [3, 5, 7, 4]
    best = plan(chances, minutes)
    assert best.order == ("2", "1", "3", "4")
    assert best.expected_minutes * 31 == pytest.approx(333)
    # Own count of all 24 orders: best 333, next 334, worst 412, mean 372.5.
    orders = np.array(every_order(chances, minutes)) * 31
    assert (*orders[:2], orders[-1], orders.mean()) == pytest.approx((333, 334, 412, 372.5))


def test_seven_jobs_when_the_chains_between_them_are_dropped():
    """The same book, data of the two-chain example of Algorithm 3.1.4. The published order obeys the
    chains, which RepairCosts does not know; 1942 without them is own computation. Jobs 1, 3 and 5 tie
    (ratio 2).
    """
    weights, minutes = np.array([6, 18, 12, 8, 8, 17, 18]), [3, 6, 6, 5, 4, 8, 10]
    best = plan(weights / 87, minutes)
    assert best.order[:2] == ("2", "6")
    assert set(best.order[2:5]) == {"1", "3", "5"}
    assert best.order[5:] == ("7", "4")
    assert best.expected_minutes * 87 == pytest.approx(1942)


def test_equal_minutes_go_by_probability_and_the_last_is_paid_too():
    """Rule read in Balakrishnan & Semmelbauer 1999, section 4.1.1; 2.0 is own computation under
    confirm-all (1.9 if the last candidate were known by elimination).
    """
    best = plan((0.4, 0.3, 0.2, 0.1), (1, 1, 1, 1))
    assert best.order == ("1", "2", "3", "4")
    assert best.expected_minutes == pytest.approx(2.0)


def test_unequal_minutes_under_confirm_all():
    """Own numbers: all six orders counted. Elimination would put the cheap 2 and 3 first, at 4.2."""
    chances, minutes = (0.6, 0.2, 0.2), (10, 1, 4)
    best = plan(chances, minutes)
    assert best.order == ("2", "1", "3")
    assert best.expected_minutes == pytest.approx(9.8)
    assert every_order(chances, minutes) == pytest.approx([9.8, 10.2, 10.8, 11.2, 11.8, 12.2])


def test_a_repair_price_paid_in_any_order_does_not_move_it():
    """Own numbers for the form with separate look and repair costs (Heckerman, Breese & Rommelse 1995,
    from memory): looks 4, 1, 2; repairs 30, 100, 10, paid for the cause that is there: .5*30 + .3*100 +
    .2*10 = 47. Total 51.2.
    """
    chances = (0.5, 0.3, 0.2)
    looks = plan(chances, (4, 1, 2))
    assert looks.order == ("2", "1", "3")
    assert looks.expected_minutes + np.dot(chances, (30, 100, 10)) == pytest.approx(51.2)


@pytest.mark.parametrize("seed", range(20))
def test_no_order_beats_probability_over_cost(seed):
    """Theorem as quoted from Kalagnanam & Henrion, UAI 4 (1990), arXiv:1304.2362 (abstract read); the
    same rule read as (5.5) in Safarbakov, Lukyanov & Pakhomov, part 1, p. 70.
    """
    rng = np.random.default_rng(seed)
    chances, minutes = rng.dirichlet(np.ones(5)), rng.uniform(1, 60, 5)
    assert plan(chances, minutes).expected_minutes == pytest.approx(every_order(chances, minutes)[0])


def test_repairs_that_overlap_are_not_ordered_best():
    """Own numbers: with two repairs for one cause the ratio rule is a heuristic. Repair 1 cures causes
    0, 1, 2, repair 2 cures 1, 3, repair 3 cures 2, 4, repair 4 cures 0. Optimum 2, 3, 1, 4 = 1.65; the
    static ratio rule, which this module uses, 1, 2, 3, 4 = 1.75. The test states the known gap; a
    smaller figure would be an improvement.
    """
    best = plan((0.1, 0.2, 0.2, 0.25, 0.25), (1, 1, 1, 1), [{0, 1, 2}, {1, 3}, {2, 4}, {0}])
    assert 1.65 - 1e-9 <= best.expected_minutes <= 1.75 + 1e-9
