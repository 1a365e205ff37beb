"""The chooser: danger first, what pays before what does not, a proof after every repair, an end always."""

import pytest

from comeback.engine.case import facts
from comeback.engine.choosing.valuation import value_options
from comeback.engine.walk import steps
from comeback.engine.walk.disposition import red_flag_floor
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience, Disposition, EngineOff


def begin(knowledge, complaint, audience="bay"):
    return begin_walk(knowledge, next(iter(knowledge.services)), complaint, Audience(audience))


def no_danger(walk):
    """All danger signs as they should be: in the bay first those with the engine off, then the others."""
    while isinstance(walk.step, steps.DangerScreen):
        expected = {check: walk.knowledge.checks[check].expected for check in walk.step.checks}
        walk = walk.imagine(walk.answers(expected, "", ""))
    return walk


def outlook(walk):
    s = walk.view
    return value_options(walk.knowledge, s.network, s.evidence, s.askable(), s.repairs(), s.standing_set_ups)


SENT_AWAY = {"fuel-smell"}
"""Complaints that state no such sign, but with which people get clear whatever is answered (next test)."""


def test_nobody_is_kept_by_questions_in_the_smell_of_gasoline(knowledge):
    """By asking all the same: with every danger sign answered "no" the advice is still to get clear."""
    for name in SENT_AWAY:
        walk = begin(knowledge, name, "phone")
        assert isinstance(walk.step, steps.Advise)
        calm = {f: knowledge.checks[f].expected for f in knowledge.complaints[name].red_flags}
        assert walk.imagine(walk.answers(calm, "", "")).advice().disposition is Disposition.GET_CLEAR


@pytest.mark.parametrize("audience", ["phone", "bay"])
def test_red_flags_come_before_everything_else(knowledge, audience):
    for complaint in knowledge.complaints.values():
        walk = begin(knowledge, complaint.id, audience)
        further = knowledge.follow_ups(complaint.reports) if audience == "phone" else ()
        here = [f for f in (*complaint.red_flags, *further) if f in walk.view.network.observables]
        mine = [f for f in here if Audience(audience) in knowledge.checks[f].audience]
        asked = [f for f in mine if f not in complaint.reports and walk.view.makes_sense(knowledge.checks[f])]
        stated = red_flag_floor(knowledge, complaint.reports)[0] is Disposition.GET_CLEAR
        if audience == "phone" and (stated or complaint.id in SENT_AWAY):
            asked = []  # people get clear of the car first; no answer changes that
            assert isinstance(walk.step, steps.Advise)
            assert walk.step.disposition is Disposition.GET_CLEAR
        seen: list[str] = []
        while isinstance(walk.step, steps.DangerScreen):
            seen += walk.step.checks
            expected = {check: knowledge.checks[check].expected for check in walk.step.checks}
            walk = walk.imagine(walk.answers(expected, "", ""))
        held = walk.view.engine_off and audience == "bay"
        running = {f for f in asked if knowledge.checks[f].runs_engine and held}
        assert set(seen) == set(asked) - running


def test_no_check_is_worth_less_than_nothing_and_none_beats_perfect_knowledge(knowledge):
    for complaint in ("rough-idle", "no-start-cranks", "engine-light"):
        found = outlook(no_danger(begin(knowledge, complaint)))
        assert all(option.gain >= 0 for option in found.options)
        most = found.plan.expected_minutes - found.bound
        assert all(option.gain <= most + 1e-6 for option in found.options)
        assert found.bound <= found.plan.expected_minutes


def test_a_found_slip_is_repaired_proven_and_closed(small):
    walk = no_danger(begin(small, "dark"))
    assert walk.step.check == "lamp-turns"
    walk = walk.imagine(walk.answers({"lamp-turns": "turns"}, "", ""))
    assert walk.step.repair == "screw-in-lamp"
    walk = walk.imagine(facts.Repaired(repair="screw-in-lamp"))
    assert walk.step == steps.ProofRound("screw-in-lamp", ("lamp-turns", "light"), ("tight", "lit"))
    walk = walk.imagine(walk.answers({"lamp-turns": "tight", "light": "lit"}, "", ""))
    assert walk.step == steps.CloseCase("dark", ("lamp-loose",), ("screw-in-lamp",), proven=True)


def test_a_repair_that_did_not_help_goes_on_with_what_was_learned(small):
    walk = no_danger(begin(small, "dark"))
    walk = walk.imagine(walk.answers({"lamp-turns": "turns"}, "", ""))
    before = dict(walk.view.repair_candidates(0.0))
    walk = walk.imagine(facts.Repaired(repair="screw-in-lamp"))
    walk = walk.imagine(walk.answers({"lamp-turns": "tight"}, "", ""))
    walk = walk.imagine(walk.answers({"light": "dark"}, "", ""))
    after = dict(walk.view.repair_candidates(0.0))
    assert after["fuse-out"] > 5 * before["fuse-out"]
    assert getattr(walk.step, "repair", None) == "replace-fuse" or "volts" in steps.checks_of(walk.step)


def test_a_complaint_that_persists_is_not_counted_twice(small):
    """Seen dark before and after a repair that removed nothing: the same lamp, so one finding."""
    walk = no_danger(begin(small, "dark"))
    walk = walk.imagine(facts.Repaired(repair="screw-in-lamp"))
    walk = walk.imagine(walk.answers({"light": "dark"}, "", ""))
    seen = [s for s in walk.view.evidence.sightings if s.check == "light"]
    assert [(s.result, s.epoch) for s in seen] == [(1, 1)]


def test_a_repair_is_done_once_more_if_its_cause_is_seen_to_be_there_still(small):
    walk = no_danger(begin(small, "dark"))
    walk = walk.imagine(walk.answers({"lamp-turns": "turns"}, "", ""))
    walk = walk.imagine(facts.Repaired(repair="screw-in-lamp"))
    walk = walk.imagine(walk.answers({"lamp-turns": "turns"}, "", ""))
    walk = walk.imagine(walk.answers({"light": "dark"}, "", ""))
    assert "screw-in-lamp" in walk.view.repairs()


def test_a_defect_that_was_found_is_repaired_however_little_a_hand_over_costs(small):
    """Nobody hands over a loose lamp that he has just turned with his fingers."""
    settings = small.settings.model_copy(update={"hand_over_minutes": 1.0})
    walk = no_danger(begin(small.model_copy(update={"settings": settings, "version": "hand"}), "dark"))
    walk = walk.imagine(walk.answers({"spark": "no", "lamp-turns": "turns"}, "", ""))
    assert isinstance(walk.step, steps.DoRepair)
    assert (walk.step.repair, walk.step.found) == ("screw-in-lamp", True)


@pytest.mark.parametrize("audience", ["phone", "bay"])
def test_dont_know_is_never_a_dead_end(small, audience):
    for complaint in small.complaints:
        knowledge = small
        walk = begin(knowledge, complaint, audience)
        for _ in range(2 * len(knowledge.checks) + len(knowledge.repairs)):
            step = walk.step
            match step:
                case _ if steps.checks_of(step):
                    walk = walk.imagine(walk.answers(dict.fromkeys(steps.checks_of(step)), "", ""))
                case steps.ChooseCondition(feature, _):
                    walk = walk.imagine(facts.ConditionNamed(feature=feature, value=None))
                case steps.DoRepair(repair=repair):
                    walk = walk.imagine(facts.Skipped(repair=repair))
                case _:
                    break
        assert isinstance(walk.step, steps.Advise | steps.HandOver | steps.CloseCase), (complaint, walk.step)


def test_phone_asks_nothing_that_needs_a_tool(knowledge):
    for complaint in ("no-crank", "engine-light", "rough-idle", "fuel-smell"):
        walk = begin(knowledge, complaint, "phone")
        for _ in range(20):
            match walk.step:
                case steps.DangerScreen():
                    walk = no_danger(walk)
                case steps.MakeCheck(check=check):
                    assert knowledge.checks[check].sense is not None
                    walk = walk.imagine(walk.answers({check: knowledge.checks[check].expected}, "", ""))
                case _:
                    break
        assert isinstance(walk.step, steps.Advise)


@pytest.mark.parametrize("audience", ["phone", "bay"])
def test_every_complaint_after_every_service_has_a_next_step(knowledge, audience):
    """Also where no known cause bears on the complaint, as a service reminder after a battery change."""
    for service in knowledge.services:
        for complaint in knowledge.complaints.values():
            if complaint.services and service not in complaint.services:
                continue
            walk = begin_walk(knowledge, service, complaint.id, Audience(audience))
            walk = no_danger(walk) if isinstance(walk.step, steps.DangerScreen) else walk
            assert walk.step, (service, complaint.id)


def signs_unknown(walk):
    return walk.imagine(walk.answers(dict.fromkeys(walk.step.checks), "", ""))


def test_danger_signs_a_caller_cannot_tell_are_asked_once_more_and_only_once(knowledge):
    walk = begin(knowledge, "rough-idle", "phone")
    first = walk.step
    walk = signs_unknown(walk)
    assert walk.step == steps.DangerScreen(first.checks, retry=True)
    assert not isinstance(signs_unknown(walk).step, steps.DangerScreen)


def test_nobody_is_asked_again_beside_a_burning_car(knowledge):
    walk = begin(knowledge, "rough-idle", "phone")
    told = dict.fromkeys(walk.step.checks) | {"hood-smoke": "smoke"}
    walk = walk.imagine(walk.answers(told, "", ""))
    assert walk.step.disposition.word == "get-clear"


def test_a_sign_that_stays_unknown_counts_as_the_worse_answer(knowledge):
    walk = begin(knowledge, "rough-idle", "phone")
    unknown = signs_unknown(signs_unknown(walk)).view.ruling
    worst = max(level for check in walk.step.checks for level in knowledge.checks[check].red_flag.values())
    assert unknown.floor == min(worst, Disposition.TOW)  # who cannot tell is not sent running, but does not drive


def test_in_the_bay_unknown_signs_are_not_asked_twice(knowledge):
    walk = begin(knowledge, "rough-idle")
    seen: list[str] = []
    while isinstance(walk.step, steps.DangerScreen):
        seen += walk.step.checks
        walk = signs_unknown(walk)
    spoils = {sign for sign in seen if EngineOff.REPAIRED in knowledge.checks[sign].engine_off.values()}
    assert len(seen) == len(set(seen)) + len(spoils), "only what cranking would wreck is asked once more"
