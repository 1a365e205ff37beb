"""Trouble that has passed by itself: nothing is repaired; a danger that has passed stays a danger."""

import pytest

from comeback.engine.case import facts
from comeback.engine.walk.bay_step import GONE_UNEXPLAINED
from comeback.engine.walk.steps import (
    Advise,
    ChooseCondition,
    CloseCase,
    DangerScreen,
    DoRepair,
    HandOver,
    LookRound,
    MakeCheck,
    ReadPanel,
    checks_of,
)
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience, CauseKind, Disposition, Tier


def passed(knowledge, audience, complaint, answers=(), car="", service="intake-cleaning"):
    """The walk to its end with "it is gone now", all else as expected but `answers`; and the steps on the way."""
    walk = open_walk(knowledge, audience, car=car)
    walk = walk.imagine(facts.ServiceNamed(service=service))
    walk = walk.imagine(facts.ComplaintNamed(complaint=complaint))
    walk, way = walk.imagine(walk.answers({"still-there": "gone"}, "", "")), []
    while isinstance(walk.step, DangerScreen | MakeCheck | ReadPanel | LookRound | ChooseCondition):
        if isinstance(walk.step, ChooseCondition):
            walk = walk.imagine(facts.ConditionNamed(feature=walk.step.feature, value=None))
            continue
        way.append(walk.step)
        results = {c: dict(answers).get(c, knowledge.checks[c].expected) for c in checks_of(walk.step)}
        walk = walk.imagine(walk.answers(results, "", ""))
    return walk, way


def test_a_caller_whose_trouble_has_passed_is_told_to_watch(knowledge):
    walk, way = passed(knowledge, Audience.PHONE, "high-idle")
    assert [type(step) for step in way] == [DangerScreen]  # the danger signs, and no question more
    assert isinstance(walk.step, Advise)
    assert walk.step.disposition is Disposition.WATCH


def test_one_visit_where_it_can_hide_a_slip(knowledge):
    """A light that went out has left codes; a puddle that dried may have left too little in the engine."""
    for complaint in ("engine-light", "fluid-leak"):
        assert passed(knowledge, Audience.PHONE, complaint)[0].step.disposition is Disposition.BOOK


@pytest.mark.parametrize("complaint", ["high-idle", "engine-light", "fluid-leak", "oil-leak", "coolant-lamp", "hiss"])
def test_the_bay_makes_one_look_at_most_and_repairs_nothing(knowledge, complaint):
    walk, way = passed(knowledge, Audience.BAY, complaint)
    looks = [step for step in way if not isinstance(step, DangerScreen)]
    wanted = knowledge.complaints[complaint].once_gone
    assert [step.panel if isinstance(step, ReadPanel) else step.check for step in looks] == [*wanted]
    assert isinstance(walk.step, CloseCase)
    assert walk.step.repairs == ()
    assert all(knowledge.causes[cause].kind is CauseKind.AFTER_EFFECT for cause in walk.step.causes)


def test_a_slip_that_the_look_finds_is_repaired(knowledge):
    walk, _ = passed(knowledge, Audience.BAY, "fluid-leak", {"dipstick": "low"}, "gasoline", "oil-service")
    assert not isinstance(walk.step, CloseCase)
    assert not walk.view.gone


DANGERS = ("fuel-smell", "hood-smoke", "oil-lamp", "overheating", "hard-brake", "brakes-weak", "knocking")


@pytest.mark.parametrize("complaint", DANGERS)
def test_a_danger_that_has_passed_keeps_its_floor_and_is_never_nothing(knowledge, complaint):
    entry = knowledge.complaints[complaint]
    floor = max(knowledge.checks[check].red_flag[result] for check, result in entry.reports.items())
    walk, _ = passed(knowledge, Audience.PHONE, complaint)
    assert walk.step.disposition >= floor >= Disposition.TOW
    walk, way = passed(knowledge, Audience.BAY, complaint)
    assert isinstance(walk.step, HandOver)
    assert walk.step.reason == GONE_UNEXPLAINED
    assert not any(isinstance(step, DoRepair) for step in way)


def test_a_danger_sign_that_is_there_now_is_not_outweighed(knowledge):
    walk, _ = passed(knowledge, Audience.PHONE, "high-idle", {"raw-fuel": "smell"})
    assert walk.step.disposition >= Disposition.TOW


def test_seen_again_in_the_bay_it_has_not_passed(knowledge):
    walk, _ = passed(knowledge, Audience.BAY, "high-idle")
    walk = walk.imagine(walk.answers({"idle-speed": "high"}, "", ""))
    assert not isinstance(walk.step, CloseCase)


def test_what_drives_the_car_is_not_asked_then(knowledge):
    walk, _ = passed(knowledge, Audience.PHONE, "slow-warm-up", service="coolant-change")
    assert not isinstance(walk.step, ChooseCondition)


def test_it_counts_for_what_was_named_before_and_until_the_customer_calls_again(knowledge):
    walk, _ = passed(knowledge, Audience.PHONE, "high-idle")
    assert walk.view.gone
    also = walk.imagine(facts.ComplaintNamed(complaint="engine-light", further=True))
    again = walk.imagine(facts.CalledAgain())
    for later in (also, again):
        assert not later.view.gone
        assert later.imagine(later.answers({"still-there": "gone"}, "", "")).view.gone


def test_no_danger_of_any_complaint_is_told_less_because_it_has_passed(knowledge):
    milder = []
    for complaint in knowledge.complaints.values():
        told = ((knowledge.checks[check], result) for check, result in complaint.reports.items())
        floors = [check.red_flag.get(result, Disposition.WATCH) for check, result in told if check.tier <= Tier.CAR]
        walk, _ = passed(knowledge, Audience.PHONE, complaint.id)
        if walk.view.ruling.advice < max(floors, default=Disposition.WATCH):
            milder.append(complaint.id)
    assert not milder
