"""Danger signs that a service brings with it: asked whatever is complained of, and they keep the engine off.

After a timing belt an engine that runs badly may have pistons near its valves. That it is not started before the marks
are seen: course notes "Timing Belts" (docslib.org/doc/2080643); the order of looks is common practice, no source.
"""

import pytest

from comeback.engine.case import facts
from comeback.engine.walk import steps
from comeback.engine.walk.walk import begin_walk, open_walk
from comeback.kb.vocabulary import Audience, Disposition

COMPLAINTS = ("rough-idle", "no-power", "no-start-cranks", "coolant-leak")


@pytest.mark.parametrize("complaint", COMPLAINTS)
def test_how_it_ran_since_the_timing_belt_is_asked_after_that_service_only(knowledge, complaint):
    assert "timing-ran" in begin_walk(knowledge, "timing", complaint, Audience.PHONE).view.signs
    assert "timing-ran" not in begin_walk(knowledge, "oil-service", complaint, Audience.PHONE).view.signs


def test_who_does_not_know_the_service_is_not_asked_about_a_timing_belt(knowledge):
    walk = open_walk(knowledge, Audience.PHONE, car="gasoline")
    walk = walk.imagine(facts.ServiceNamed(None, unknown_to=Audience.PHONE))
    walk = walk.imagine(facts.ComplaintNamed(complaint="rough-idle"))
    assert "hood-smoke" in walk.view.signs
    assert "timing-ran" not in walk.view.signs


@pytest.mark.parametrize("ran", ["from-start", "later"])
def test_an_engine_that_runs_badly_since_the_timing_belt_is_towed(knowledge, ran):
    walk = begin_walk(knowledge, "timing", "rough-idle", Audience.PHONE)
    assert walk.imagine(walk.answers({"timing-ran": ran})).view.ruling.advice == Disposition.TOW


def test_it_is_not_run_in_the_bay_before_its_marks_have_been_seen(knowledge):
    walk, checks, made = begin_walk(knowledge, "timing", "rough-idle", Audience.BAY), knowledge.checks, []
    while "timing-marks" not in made:
        asked = steps.checks_of(walk.step)
        assert asked, walk.step
        assert not [check for check in asked if checks[check].runs_engine], made
        told = {check: checks[check].expected for check in asked} | {"timing-ran": "from-start", "onset": "at-once"}
        walk = walk.imagine(walk.answers({check: told[check] for check in asked}))
        made += asked
    walk = walk.imagine(walk.answers({"timing-marks": "apart"}))
    assert walk.step.repair == "reset-timing"
