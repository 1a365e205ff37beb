"""Gasoline, diesel, hybrid, electric: asked once, where it matters; no gasoline answer for a diesel."""

import pytest

from comeback.engine.case import facts
from comeback.engine.case.car_words import drive_named
from comeback.engine.walk.steps import Advise, ChooseCondition, DangerScreen, HandOver
from comeback.engine.walk.walk import Walk, open_walk
from comeback.kb.vocabulary import Audience, Disposition


def begun(knowledge, audience, service, complaint, car="", **answers):
    """The walk after its danger signs."""
    walk = open_walk(knowledge, audience, car=car)
    walk = walk.imagine(facts.ServiceNamed(service=service))
    walk = walk.imagine(facts.ComplaintNamed(complaint=complaint))
    while isinstance(walk.step, DangerScreen):
        checks = walk.step.checks
        walk = walk.imagine(walk.answers({c: answers.get(c, knowledge.checks[c].expected) for c in checks}, "", ""))
    return walk


def told(walk, value):
    return walk.imagine(facts.ConditionNamed(feature="drive", value=value))


@pytest.mark.parametrize("audience", Audience)
def test_it_is_asked_after_the_danger_signs_and_before_anything_else(knowledge, audience):
    step = begun(knowledge, audience, "oil-service", "rough-idle").step
    assert isinstance(step, ChooseCondition)
    assert step.feature == "drive"


@pytest.mark.parametrize(
    ("service", "complaint", "answers"),
    [
        ("plugs-coils", "rough-idle", {}),  # a diesel has no spark plugs
        ("pcv-evap", "pump-clicks-off", {}),
        ("oil-service", "rough-idle", {"hood-smoke": "smoke"}),  # the call ends with that
        ("oil-service", "overheating", {}),
    ],
)
def test_it_is_not_asked_where_it_cannot_matter(knowledge, service, complaint, answers):
    assert not isinstance(begun(knowledge, Audience.PHONE, service, complaint, **answers).step, ChooseCondition)


@pytest.mark.parametrize("kind", ["diesel", "electric"])
def test_a_car_that_is_not_covered_gets_an_honest_end(knowledge, kind):
    call = told(begun(knowledge, Audience.PHONE, "battery", "no-crank"), kind)
    assert isinstance(call.step, Advise)
    assert not call.step.needed  # nothing that is known of gasoline engines has a say
    bay = told(begun(knowledge, Audience.BAY, "battery", "no-crank"), kind)
    assert isinstance(bay.step, HandOver)
    assert bay.step.cautions == knowledge.not_covered[kind].cautions
    assert knowledge.not_covered[kind].hand_to in bay.step.reason


def test_the_danger_signs_of_a_diesel_count(knowledge):
    call = begun(knowledge, Audience.PHONE, "oil-service", "rough-idle", car="diesel van", stalls="while-driving")
    assert call.step.disposition >= Disposition.TOW
    assert begun(knowledge, Audience.PHONE, "oil-service", "rough-idle", car="diesel van").step.disposition == 2


def test_a_description_that_says_it_spares_the_question(knowledge):
    for car, there in (("blue hybrid", False), ("blue hatchback, gasoline", False), ("blue hatchback", True)):
        step = begun(knowledge, Audience.BAY, "oil-service", "rough-idle", car).step
        assert isinstance(step, ChooseCondition) is there or step.feature != "drive"
    assert isinstance(begun(knowledge, Audience.BAY, "oil-service", "rough-idle", "DIESEL wagon").step, HandOver)


@pytest.mark.parametrize(
    ("car", "drive"),
    [
        ("white van, Diesel", "diesel"), ("plug-in hybrid", "hybrid"), ("PHEV wagon", "hybrid"),
        ("small EV", "electric"), ("green hatchback", None), ("seven seats", None), ("gasoline hybrid", "hybrid"),
        ("petrol hatchback", "gasoline"),
    ],
)  # fmt: skip
def test_what_a_description_says(car, drive):
    assert drive_named(car) == drive


def test_not_known_is_asked_again_at_the_car_and_never_told_to_just_watch(knowledge):
    call = told(begun(knowledge, Audience.PHONE, "oil-service", "high-idle"), None)
    assert not isinstance(call.step, ChooseCondition)
    assert call.view.ruling.advice >= Disposition.BOOK
    bay = Walk(knowledge, call.events, Audience.BAY)
    bay = bay.imagine(facts.TakenOver(audience="bay"))
    while isinstance(bay.step, DangerScreen):
        bay = bay.imagine(bay.answers({c: knowledge.checks[c].expected for c in bay.step.checks}, "", ""))
    assert isinstance(bay.step, ChooseCondition)
    assert bay.step.feature == "drive"
