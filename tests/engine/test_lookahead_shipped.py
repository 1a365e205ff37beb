"""Looking ahead on the shipped knowledge: the same choice whatever the order of checks and findings, set-ups once."""

from itertools import permutations

import numpy as np
import pytest

from comeback.engine.belief.predictions import predict
from comeback.engine.case import facts
from comeback.engine.choosing.next_check import best_check
from comeback.engine.choosing.valuation import value_options
from comeback.engine.walk import steps
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience

COMPLAINTS = ("rough-idle", "engine-light", "fuel-smell", "coolant-leak")


def begin(knowledge, complaint):
    walk = open_walk(knowledge, Audience.BAY)
    service = (knowledge.complaints[complaint].services or tuple(knowledge.services))[0]
    walk = walk.imagine(facts.ServiceNamed(service=service))
    walk = walk.imagine(facts.ComplaintNamed(complaint=complaint))
    if isinstance(walk.step, steps.DangerScreen):
        calm = {check: knowledge.checks[check].expected for check in walk.step.checks}
        walk = walk.imagine(walk.answers(calm, "", ""))
    return walk


def outlook(walk, reverse=False):
    s = walk.view
    checks = s.askable()[::-1] if reverse else s.askable()
    return value_options(walk.knowledge, s.network, s.evidence, checks, s.repairs(), s.standing_set_ups)


def test_set_ups_of_the_shipped_checks_are_paid_once_while_they_last(knowledge):
    found = outlook(begin(knowledge, "rough-idle"))
    problem, seen = found.node.decision, 0
    for names, number in found.numbers.items():
        needed = {s for name in names for s in knowledge.checks[name].set_up}
        standing = problem.after(number, frozenset())
        assert needed <= standing
        whole, again = problem.price(number, frozenset()), problem.price(number, standing)
        assert whole - again == pytest.approx(sum(knowledge.set_ups[s].minutes for s in needed))
        seen += bool(needed)
    assert seen > 5


@pytest.mark.parametrize("complaint", COMPLAINTS)
def test_choice_is_the_same_every_time_and_in_whatever_order_checks_are_listed(knowledge, complaint):
    walk = begin(knowledge, complaint)
    first, again, reverse = best_check(outlook(walk)), best_check(outlook(walk)), best_check(outlook(walk, True))
    assert first == again
    assert first is not None
    assert reverse is not None
    assert sorted(first.checks) == sorted(reverse.checks)


@pytest.mark.parametrize("complaint", COMPLAINTS)
def test_checks_left_out_save_nothing(knowledge, complaint):
    """A check on which no cause of any listed set bears shows the same whichever set is true."""
    walk = begin(knowledge, complaint)
    found = outlook(walk)
    left_out = sorted(set(walk.view.askable()) - {name for names in found.numbers for name in names})
    assert left_out
    assert np.ptp(predict(walk.view.network, found.sets, left_out).chances, axis=0).max() < 1e-9


@pytest.mark.parametrize("complaint", COMPLAINTS)
def test_findings_made_in_another_order_lead_to_the_same_next_step(knowledge, complaint):
    """The findings are of checks without set-up: what stands ready may hang on the order, belief may not."""
    walk = begin(knowledge, complaint)
    single = [option.checks[0] for option in outlook(walk).options if len(option.checks) == 1]
    free = [check for check in single if not knowledge.checks[check].set_up]
    results = {check: knowledge.checks[check].names[k == 0] for k, check in enumerate(free[:3])}
    taken = set()
    for order in permutations(results):
        after = walk
        for check in order:
            after = after.imagine(after.answers({check: results[check]}, "", ""))
        step = after.step
        entry = getattr(step, "check", None) or getattr(step, "repair", None) or getattr(step, "panel", None)
        taken.add((type(step).__name__, entry, round(getattr(step, "minutes", 0.0), 6)))
    assert len(taken) == 1
