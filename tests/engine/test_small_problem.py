"""Exact search on decisions made small: nothing beats it, and on two causes it is what can be counted by hand."""

from dataclasses import replace

import pytest

from comeback.engine.choosing.valuation import value_options
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience
from support.small_problem import MOST_CHECKS, beside_optimum, small_node


def seen_by_the_chooser(knowledge, service, complaint):
    walk = begin_walk(knowledge, service, complaint, Audience.BAY)
    if hasattr(walk.step, "checks"):
        expected = {check: knowledge.checks[check].expected for check in walk.step.checks}
        walk = walk.imagine(walk.answers(expected, "", ""))
    s = walk.view
    return value_options(knowledge, s.network, s.evidence, s.askable(), s.repairs(), s.standing_set_ups)


@pytest.mark.parametrize(
    ("service", "complaint"),
    [("intake-cleaning", "rough-idle"), ("oil-service", "oil-leak"), ("battery", "no-crank"), ("coolant", "no-heat")],
)
def test_no_way_of_working_beats_the_optimum(knowledge, service, complaint):
    found = beside_optimum(seen_by_the_chooser(knowledge, service, complaint))
    for way in (found.guided, found.fixed_order, found.repairs_only):
        assert way >= found.optimum - 1e-9
    assert 1 < found.checks <= MOST_CHECKS


def test_on_the_smallest_knowledge_the_optimum_can_be_counted_by_hand(small):
    """Own arithmetic over the two sets that are left: ask nothing, or look at the seat first, or measure first."""
    valuation = seen_by_the_chooser(small, "lamp-change", "dark")
    node = small_node(valuation)
    by_hand = [node.end]
    for check in node.open:
        columns = node.decision.slices[check]
        price, rest = node.decision.price(check, node.standing), [c for c in node.open if c != check]
        total = price
        for column in range(columns.start, columns.stop):
            if node.chances[column] < 1e-12:
                continue
            after = node.rows[column]
            options = [float(node.decision.ends(after[None])[0])]
            for other in rest:
                table = node.decision.tables[:, node.decision.slices[other]]
                standing = node.decision.after(check, node.standing)
                joint = after[:, None] * table
                chances = joint.sum(axis=0)
                ends = [
                    float(node.decision.ends((joint[:, k] / p)[None])[0]) if p else 0 for k, p in enumerate(chances)
                ]
                options.append(node.decision.price(other, standing) + float(chances @ ends))
            total += float(node.chances[column]) * min(options)
        by_hand.append(total)
    assert len(node.open) == 2
    assert beside_optimum(valuation).optimum == pytest.approx(min(by_hand))


def test_nothing_to_decide_gives_nothing_to_compare(small):
    valuation = seen_by_the_chooser(small, "lamp-change", "dark")
    assert beside_optimum(replace(valuation, options=valuation.options[:1])) is None
