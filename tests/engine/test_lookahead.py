"""Looking ahead: knowledge never costs, never worse than the rule, bounded from below, set-ups paid once.

Convention: confirm-all. Ending costs the repairs in order of probability over cost with their proofs,
the last one paid too, or handing over (Kadane & Simon 1977, from memory).
"""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from comeback.engine.choosing.lookahead import Budget, Decision, by_saving, follow, node_of, try_first
from comeback.engine.choosing.repair_sequence import Action, RepairCosts
from support.exact_search import optimal, rollout

LIFT = 5.0
"""Minutes of the only set-up of the random problems; every second check needs it."""


def price_of(minutes):
    def price(check, standing):
        return minutes[check] + (LIFT if check % 2 and "lift" not in standing else 0.0)

    return price


def decision(seed, sets="single", checks=4):
    """A random repair decision: (node, costs). Single: one cause in each set, and one set with none; cures certain."""
    rng = np.random.default_rng(seed)
    causes = 4
    if sets == "single":
        now, cures = np.vstack((np.eye(causes, dtype=bool), np.zeros((1, causes), bool))), np.eye(causes)
    else:
        now = np.unique(rng.random((9, causes)) < 0.4, axis=0)
        cures = np.where(rng.random((5, causes)) < 0.5, rng.uniform(0.5, 1.0, (5, causes)), 0.0)
    actions = [Action(f"r{k}", float(rng.uniform(5, 60)), cure) for k, cure in enumerate(cures)]
    costs = RepairCosts(now, actions, float(rng.uniform(50, 300)))
    weights = rng.dirichlet(np.ones(len(now)))
    tables = [rng.dirichlet(np.full(int(rng.integers(2, 4)), 0.5), len(now)) for _ in range(checks)]
    edges = np.cumsum([0, *(table.shape[1] for table in tables)]).tolist()
    problem = Decision(
        np.concatenate(tables, axis=1),
        tuple(slice(a, b) for a, b in pairwise(edges)),
        price_of(rng.uniform(0.5, 8, checks)),
        lambda check, standing: standing | {"lift"} if check % 2 else standing,
        lambda rows: costs.evaluate(rows).minutes,
    )
    end = float(costs.evaluate(weights[None]).minutes[0])
    return node_of(problem, weights, tuple(range(checks)), frozenset(), end), costs


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_no_result_costs_anything_before_its_price_where_ending_is_optimal(seed):
    """One cause at a time, certain repairs: the order is optimal, so ending is a minimum of linear functions."""
    node, _ = decision(seed)
    assert all(node.saving(check) >= -1e-9 for check in node.open)
    assert all(node.information(check) >= -1e-9 for check in node.open)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**32), beliefs=st.integers(1, 30), least=st.sampled_from([0.0, 0.25, 5.0]))
def test_looking_ahead_is_never_worse_than_its_rule_with_the_same_budget(seed, beliefs, least):
    node, _ = decision(seed, sets="several")
    rule = by_saving(least)
    alone = follow(node, rule, Budget(beliefs))
    _, minutes = rollout(node, rule, node.open, Budget(beliefs * (len(node.open) + 1)))
    assert minutes <= alone + 1e-9


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 2**32), sets=st.sampled_from(["single", "several"]))
def test_bound_then_exact_search_then_rollout_then_rule(seed, sets):
    node, costs = decision(seed, sets, checks=3)
    bound, best = costs.bound(node.weights), optimal(node)
    rolled = rollout(node, by_saving(), node.open, Budget(10**6))[1]
    assert bound <= best + 1e-9
    assert best <= rolled + 1e-9
    assert rolled <= follow(node, by_saving(), Budget(10**6)) + 1e-9
    assert best <= node.end + 1e-9


def test_exact_search_gives_no_answer_rather_than_a_wrong_one_when_it_is_too_big():
    node, _ = decision(3, "several")
    assert optimal(node, most=5) is None
    assert optimal(node) is not None


def test_set_up_of_two_checks_is_paid_once():
    """Checks 1 and 3 need the lift: 5 minutes at the first of them, none at the second."""
    problem = Decision(
        np.tile([1.0, 0.0], (1, 4)),
        tuple(slice(2 * k, 2 * k + 2) for k in range(4)),
        price_of([1.0, 1.0, 1.0, 1.0]),
        lambda check, standing: standing | {"lift"} if check % 2 else standing,
        lambda rows: np.zeros(len(rows)),
    )
    node = node_of(problem, np.ones(1), (1, 3), frozenset(), 0.0)
    assert try_first(node, 1, lambda n: n.open[0] if n.open else None, Budget(9)) == pytest.approx(2.0 + LIFT)
