"""Looks that share a screen: chosen as if all above came out as expected, in one state of the car."""

import pytest

from comeback.engine.case import facts
from comeback.engine.choosing.rounds import MOST_ROWS
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk, begin_walk, open_walk
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience, Tier

KNOWLEDGE = load_knowledge()
BEGINNINGS = [
    ("air-filter", "hesitation"), ("intake-cleaning", "rough-idle"), ("oil-service", "fluid-leak"),
    ("plugs-coils", "rough-idle"), ("coolant-change", "coolant-lamp"), ("battery", "no-crank"),
]  # fmt: skip


def begun(service: str, complaint: str) -> Walk:
    """The bay's walk with its danger signs answered: none of them is there."""
    walk = open_walk(KNOWLEDGE, Audience.BAY, car="gasoline")
    walk = walk.imagine(facts.ServiceNamed(service=service))
    walk = walk.imagine(facts.ComplaintNamed(complaint=complaint))
    while isinstance(walk.step, steps.DangerScreen | steps.ChooseCondition):
        if isinstance(walk.step, steps.ChooseCondition):
            walk = walk.imagine(facts.ConditionNamed(feature=walk.step.feature, value=None))
            continue
        normal = {sign: KNOWLEDGE.checks[sign].expected for sign in walk.step.checks}
        walk = walk.imagine(walk.answers(normal, "", ""))
    return walk


def rounds(service: str, complaint: str, most: int = 12) -> list[tuple[Walk, steps.LookRound]]:
    """The rounds of a walk on which nothing is found."""
    walk, found = begun(service, complaint), []
    for _ in range(most):
        step = walk.step
        if isinstance(step, steps.LookRound):
            found.append((walk, step))
        if not isinstance(step, steps.LookRound | steps.MakeCheck | steps.ReadPanel):
            break
        normal = {check: KNOWLEDGE.checks[check].expected for check in steps.checks_of(step)}
        walk = walk.imagine(walk.answers(normal, "", ""))
    return found


@pytest.mark.parametrize(("service", "complaint"), BEGINNINGS)
def test_the_rows_of_a_round_are_looks_in_one_state_of_the_car(service, complaint):
    found = rounds(service, complaint)
    assert found, "a walk without a single round"
    for walk, step in found:
        checks = [KNOWLEDGE.checks[name] for name in step.checks]
        first = checks[0]
        assert 2 <= len(set(step.checks)) == len(checks) <= MOST_ROWS
        assert len({(check.runs_engine, check.drives) for check in checks}) == 1
        assert len({name for check in checks for name in check.cautions}) <= max(3, len(first.cautions))
        standing = {*first.set_up, *walk.view.standing_set_ups}
        for check in checks:
            assert {*check.set_up} <= standing
            assert check.panel is None
            assert not check.asks_customer
            assert walk.case.answer(check.id) is None or walk.case.answer(check.id).result is None
            assert max(check.tier, Tier.LOOK) <= max(first.tier, Tier.LOOK)


def test_the_opening_looks_come_first_and_together():
    walk = begun("oil-service", "fluid-leak")
    step, openings = walk.step, [name for name in walk.view.openings if name in KNOWLEDGE.checks]
    if isinstance(step, steps.LookRound):
        together = [name for name in openings if name in step.checks]
        assert list(step.checks[: len(together)]) == together


def test_a_round_costs_its_screen_once():
    _walk, step = rounds("air-filter", "hesitation")[0]
    alone = [KNOWLEDGE.checks[name].minutes for name in step.checks]
    assert sum(alone) < step.minutes <= sum(alone) + 1.5 + sum(KNOWLEDGE.set_ups[s].minutes for s in step.set_up)


def test_a_repair_is_proven_on_one_screen_and_a_row_that_is_not_right_goes_on():
    walk = begun("air-filter", "louder")
    for _ in range(20):
        step = walk.step
        if isinstance(step, steps.DoRepair):
            break
        car = {"duct-fit": KNOWLEDGE.checks["duct-fit"].names[1], "loudness": "louder"}
        results = {check: car.get(check, KNOWLEDGE.checks[check].expected) for check in steps.checks_of(step)}
        again = isinstance(step, steps.MakeCheck) and step.again is not None
        walk = walk.imagine(walk.answers(results, "", "", again=again))
    assert isinstance(walk.step, steps.DoRepair)
    assert walk.step.sees == "duct-fit"
    fine = walk.imagine(walk.answers({"duct-fit": KNOWLEDGE.checks["duct-fit"].expected}, "", "", again=True))
    assert not (isinstance(fine.step, steps.DoRepair) and fine.step.repair == walk.step.repair)
    walk = walk.imagine(facts.Repaired(repair=walk.step.repair))
    proof = walk.step
    assert isinstance(proof, steps.ProofRound)
    good = walk.imagine(walk.answers(dict(zip(proof.checks, proof.results, strict=True)), "", ""))
    assert isinstance(good.step, steps.CloseCase)
    assert good.step.proven
    bad = dict(zip(proof.checks, proof.results, strict=True)) | {"loudness": "louder"}
    assert not isinstance(walk.imagine(walk.answers(bad, "", "")).step, steps.CloseCase)


def test_once_on_the_lift_for_the_repair_the_drain_plug_is_looked_at_first():
    """Common practice, no source: wiping the splash shield proves little if the drain plug next to it drips."""
    walk = open_walk(KNOWLEDGE, Audience.BAY, car="gasoline")
    walk = walk.imagine(facts.ServiceNamed(service="oil-service"))
    walk = walk.imagine(facts.ComplaintNamed(complaint="oil-leak"))
    walk = walk.imagine(walk.answers({"oil-spot": "drops", "onset": "at-once"}, "", ""))
    seen: list[str] = []
    for _ in range(12):
        asked = steps.checks_of(walk.step)
        if not asked:
            break
        seen += asked
        walk = walk.imagine(walk.answers({check: KNOWLEDGE.checks[check].expected for check in asked}, "", ""))
    assert isinstance(walk.step, steps.DoRepair)
    assert (walk.step.repair, walk.step.set_up) == ("wipe-undertray", ()), "the car is on the lift already"
    assert "drain-plug" in seen


def test_no_look_is_listed_twice_when_the_first_was_chosen_with_the_engine_off(knowledge):
    walk = begin_walk(knowledge, "oil-service", "oil-leak", Audience.BAY)
    for _ in range(6):
        asked = steps.checks_of(walk.step)
        assert len(asked) == len(set(asked)), asked
        found = {"oil-spot": "drops", "drip-kind": "oil"}
        walk = walk.imagine(walk.answers({c: found.get(c, knowledge.checks[c].expected) for c in asked}, "", ""))
