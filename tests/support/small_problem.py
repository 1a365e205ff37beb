"""A real decision made small enough for exact search, to hold the chooser against the best that is possible.

The likeliest sets of causes and the checks with the best rates are kept, as many as exact search can
take. What each way of working costs there is counted exactly, not sampled. Confirm-all: the last
candidate is repaired and proven too. Hazard tiers are kept, so that the chooser's own price of safety shows.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from comeback.engine.choosing.lookahead import Budget, Node, Rule, follow, node_of
from comeback.engine.choosing.next_check import best_check
from comeback.engine.choosing.valuation import CheckOption, Valuation
from comeback.kb.vocabulary import Tier
from support.exact_search import optimal

BELIEFS, MOST_CHECKS = 1_500, 8
"""Checks are taken in while so many beliefs hold every answer to them; and how many at most."""
MOST_MET = 12_000
"""Beliefs met by exact search before it gives up."""
SURE = 0.8
"""Chance of the likeliest set at which a fixed list of checks is left off."""


@dataclass(frozen=True)
class Beside:
    """Expected minutes on one small problem of `sets` sets and `checks` checks, by way of working."""

    sets: int
    checks: int
    optimum: float
    guided: float
    fixed_order: float
    repairs_only: float


def beside_optimum(valuation: Valuation) -> Beside | None:
    """What each way costs on the decision made small; None if there is nothing to decide or search does not end."""
    if len(valuation.options) < 2 or not valuation.actions:
        return None
    node = small_node(valuation)
    best = optimal(node, MOST_MET)
    if best is None:
        return None
    ordered = follow(node, in_order(node), Budget(10**7, rare=0.0))
    return Beside(node.weights.size, len(node.open), best, guided_minutes(valuation, node), ordered, node.end)


def small_node(valuation: Valuation, most: int = BELIEFS) -> Node:
    """The decision with the likeliest sets and the checks with the best rates."""
    chosen: list[tuple[str, ...]] = []
    beliefs = 1
    for option in sorted(valuation.options, key=lambda o: (-o.gain / o.minutes, o.checks)):
        grown = beliefs * (len(option.chances) + 1)
        if grown <= most and len(chosen) < MOST_CHECKS:
            chosen, beliefs = [*chosen, option.checks], grown
    return valuation.restricted(chosen)


def in_order(node: Node) -> Rule:
    """A list that is always the same, the best rates of the beginning first, left off when one set is SURE."""
    rates = {check: node.saving(check) / max(node.decision.price(check, node.standing), 1e-9) for check in node.open}
    order = sorted(node.open, key=lambda check: (-rates[check], check))

    def rule(here: Node) -> int | None:
        if here.weights.max() >= SURE:
            return None
        return next((check for check in order if check in here.open), None)

    return rule


def guided_minutes(valuation: Valuation, node: Node, tiers: bool = True) -> float:
    """Expected minutes if the chooser makes every choice; without `tiers` as if no check were a hazard."""
    kept = node.weights.size
    sets = replace(valuation.sets, now=valuation.sets.now[:kept], weights=node.weights)
    small = replace(valuation, sets=sets, costs=valuation.costs.restricted(np.arange(kept)))
    options = {k: o for o in valuation.options for k in [_number(valuation, node, o)] if k is not None}
    return _followed(small, node, lambda k: replace(options[k], tier=options[k].tier if tiers else Tier.LOOK))


def _number(valuation: Valuation, node: Node, option: CheckOption) -> int | None:
    """Number of the option's check in the small problem: the one with the same table and price."""
    number, whole = valuation.numbers[option.checks], valuation.node
    table = whole.decision.tables[: node.weights.size, whole.decision.slices[number]]
    price = whole.decision.price(number, node.standing)
    for k, columns in enumerate(node.decision.slices):
        own = node.decision.tables[:, columns]
        if own.shape == table.shape and np.array_equal(own, table) and node.decision.price(k, node.standing) == price:
            return k
    return None


def _followed(small: Valuation, node: Node, option_of: Callable[[int], CheckOption]) -> float:
    best = best_check(_seen_from(small, node, option_of)) if node.open else None
    if best is None:
        return node.end
    check = next(k for k in node.open if option_of(k).checks == best.checks)
    total, rest = best.minutes, tuple(k for k in node.open if k != check)
    standing, columns = node.decision.after(check, node.standing), node.decision.slices[check]
    for c in range(columns.start, columns.stop):
        if node.chances[c] > 1e-6:
            child = node_of(node.decision, node.rows[c], rest, standing, float(node.ends[c]))
            total += float(node.chances[c]) * _followed(small, child, option_of)
    return total


def _seen_from(small: Valuation, node: Node, option_of: Callable[[int], CheckOption]) -> Valuation:
    """What the chooser looks at when the small problem has come to this node."""
    priced = (
        replace(option_of(k), minutes=node.decision.price(k, node.standing), gain=max(0.0, node.saving(k)))
        for k in node.open
    )
    return replace(
        small,
        sets=replace(small.sets, weights=node.weights),
        plan=small.costs.plan(node.weights),
        options=tuple(sorted(priced, key=lambda option: (-option.net, option.checks))),
        node=node,
        numbers={option_of(k).checks: k for k in node.open},
    )
