"""A finding that hardly fits the rest is looked at again before a long repair, and before the car is given away."""

import pytest

from comeback.engine.belief.evidence import Evidence
from comeback.engine.case import facts
from comeback.engine.case.case import Answer
from comeback.engine.walk import steps
from comeback.engine.walk.bay_step import NOT_SEEN
from comeback.engine.walk.second_look import LONG_WORK, SLIP, doubtful, fit, second_look, slip_chance
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience
from support import enumeration


def dark(knowledge, **results):
    walk = begin_walk(knowledge, "lamp-change", "dark", Audience.BAY)
    for check, result in results.items():
        walk = walk.imagine(walk.answers({check.replace("_", "-"): result}, "", ""))
    return walk


def test_the_chance_of_a_slip_is_bayes_rule(small):
    """By hand: e = 0.03, two results, the finding has chance 0.01 given the rest.
    slip : surprise = 0.03 x 0.99 : 0.97 x 0.01 = 0.0297 : 0.0097, so 0.754 (own arithmetic)."""
    answer = Answer("lamp-turns", "tight", 0, 1, "", "", Audience.BAY)
    assert SLIP == 0.03
    assert slip_chance(dark(small).view, answer, 0.01) == pytest.approx(0.0297 / 0.0394)
    assert slip_chance(dark(small).view, answer, 1.0) == 0


def test_a_callers_answer_is_doubted_sooner(small):
    bay, caller = (Answer("lamp-turns", "tight", 0, 1, "", "", who) for who in (Audience.BAY, Audience.PHONE))
    view = dark(small).view
    assert slip_chance(view, caller, 0.05) > slip_chance(view, bay, 0.05)


def test_the_fit_is_the_ratio_of_the_two_evidences(small):
    """Oracle: every set of causes listed, straight from the definition of noisy-MAX."""
    view = dark(small, spark="no", lamp_turns="tight", volts="present").view
    evidence = view.evidence
    rest = Evidence(tuple(s for s in evidence.sightings if s.check != "volts"), evidence.removals)
    whole, without = (enumeration.enumerate_posterior(view.network, e)[2] for e in (evidence, rest))
    assert fit(view, ["volts"])[0] == pytest.approx(whole / without)


def test_both_looks_fine_is_doubted_before_the_car_is_given_away(small):
    """Said to be dark, but its seat and its voltage were found good: one of the three is probably a slip."""
    walk = dark(small, spark="no", lamp_turns="tight", volts="present")
    assert isinstance(walk.step, steps.MakeCheck)
    assert walk.step.again in ("dark", "tight", "present")
    doubts = {one.answer.check: one.slip for one in doubtful(walk.view, 3)}
    assert doubts[walk.step.check] > SLIP  # more probably a slip than an answer of which nothing else is known


def test_after_the_second_look_only_the_second_result_counts(small):
    walk = dark(small, spark="no", lamp_turns="tight", volts="present")
    while walk.step.check != "lamp-turns":  # what else is doubted stands
        walk = walk.imagine(walk.answers({walk.step.check: walk.step.again}, "", "", again=True))
    walk = walk.imagine(walk.answers({"lamp-turns": "turns"}, "", "", again=True))
    assert [s.result for s in walk.view.evidence.sightings if s.check == "lamp-turns"] == [1]
    assert walk.step.repair == "screw-in-lamp"


def test_nobody_is_asked_a_third_time(small):
    walk, looked = dark(small, spark="no", lamp_turns="tight", volts="present"), []
    while isinstance(walk.step, steps.MakeCheck) and walk.step.again is not None:
        looked.append(walk.step.check)
        walk = walk.imagine(walk.answers({walk.step.check: walk.step.again}, "", "", again=True))
    assert looked
    assert len(looked) == len(set(looked))


def test_no_stake_no_second_look(small):
    walk = dark(small, spark="no", lamp_turns="tight", volts="present")
    assert second_look(walk.view, stake=0.0) is None


def test_what_nobody_could_tell_is_tried_once_more_before_the_car_is_given_away(small):
    walk = dark(small, spark="no", lamp_turns=None, volts="present")
    tried = []
    while isinstance(walk.step, steps.MakeCheck):
        tried.append((walk.step.check, walk.step.retry))
        result = None if walk.step.retry else walk.step.again
        again = walk.step.again is not None
        walk = walk.imagine(walk.answers({walk.step.check: result}, "", "", again=again))
    assert tried.count(("lamp-turns", True)) <= 1
    assert ("lamp-turns", False) not in tried


def test_a_proof_that_nobody_could_see_is_asked_once_more_then_left_unproven(small):
    walk = dark(small, spark="no", lamp_turns="turns")
    walk = walk.imagine(facts.Repaired(repair="screw-in-lamp"))
    walk = walk.imagine(walk.answers({"lamp-turns": "tight"}, "", ""))
    assert walk.step == steps.ProveRepair("screw-in-lamp", "light", "lit")
    walk = walk.imagine(walk.answers({"light": None}, "", ""))
    assert walk.step == steps.ProveRepair("screw-in-lamp", "light", "lit", retry=True)
    told = walk.imagine(walk.answers({"light": "lit"}, "", ""))
    assert told.step.proven
    untold = walk.imagine(walk.answers({"light": None}, "", ""))
    assert untold.step == steps.CloseCase("dark", ("lamp-loose",), ("screw-in-lamp",), proven=False)


def test_nothing_is_closed_if_nobody_could_see_anything(small):
    walk = dark(small, spark="no", lamp_turns="turns")
    walk = walk.imagine(facts.Repaired(repair="screw-in-lamp"))
    for _ in range(4):
        walk = walk.imagine(walk.answers(dict.fromkeys(steps.checks_of(walk.step)), "", ""))
    assert not isinstance(walk.step, steps.CloseCase)


def test_a_complaint_that_nothing_explains_is_looked_at_before_the_car_is_given_away(small):
    """Verify the complaint: common practice, no source."""
    walk = dark(small, spark="no", lamp_turns="tight", volts="present")
    looked = []
    while isinstance(walk.step, steps.MakeCheck):
        looked.append(walk.step.check)
        found = "lit" if walk.step.check == "light" else walk.step.again
        walk = walk.imagine(walk.answers({walk.step.check: found}, "", "", again=True))
    assert "light" in looked
    assert walk.step == steps.HandOver(NOT_SEEN, waits=True)


def test_who_cannot_tell_the_second_time_is_not_asked_a_third_time(small):
    walk, asked = dark(small, spark="no", lamp_turns="tight", volts="present"), []
    while isinstance(walk.step, steps.MakeCheck):
        asked.append(walk.step.check)
        walk = walk.imagine(walk.answers({walk.step.check: None}, "", "", again=walk.step.again is not None))
    assert len(asked) == len(set(asked))
    assert isinstance(walk.step, steps.HandOver)


def test_what_was_found_here_by_looking_is_doubted_before_long_work_only(small):
    """A loose lamp that was just turned is screwed in; nobody is asked whether it was really loose."""
    walk = dark(small, spark="no", lamp_turns="turns", volts="none")
    short, long = ({one.answer.check for one in doubtful(walk.view, 5, stake=stake)} for stake in (10, LONG_WORK))
    assert "lamp-turns" not in short
    assert "lamp-turns" in long
    assert "volts" in short  # a measurement is repeated


def test_before_short_work_the_customer_is_not_called_back_to_say_the_same_again(small):
    check = small.checks["lamp-turns"].model_copy(update={"asks_customer": True})
    asks = small.model_copy(update={"checks": {**small.checks, "lamp-turns": check}, "version": "asks"})
    results = {"spark": "no", "lamp_turns": "tight", "volts": "present"}
    for knowledge, stake, doubted in ((small, 10, True), (asks, 10, False), (asks, LONG_WORK, True)):
        doubts = {one.answer.check for one in doubtful(dark(knowledge, **results).view, 5, stake=stake)}
        assert ("lamp-turns" in doubts) is doubted
