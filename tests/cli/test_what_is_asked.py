"""Nobody is asked what they have said, or what cannot be so; a single sign is a plain question.

What a caller or technician would expect: common practice, no source.
"""

import re

import pytest

from comeback.cli.look import Look
from comeback.cli.prompt.replies import read_answer
from comeback.cli.prompt.reply import Record
from comeback.cli.records.formats import rendered
from comeback.cli.screens import screens, wording
from comeback.cli.screens.earlier_answers import earlier_answers
from comeback.cli.screens.spoken import confirm_back
from comeback.cli.screens.summary import result_lines
from comeback.cli.words.sentence import find_parts
from comeback.engine.case import facts
from comeback.engine.case.result_words import result_alone
from comeback.engine.walk import steps
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience


def shown(walk, width=100):
    return " ".join(Look(width).paint(screens.body(walk, Look(width))).split())


def test_a_light_said_to_blink_is_not_asked_about_again(knowledge):
    parts = ["the check engine light blinks", "it shakes"]
    found = find_parts(knowledge, parts, tuple(knowledge.complaints)).near
    assert found[0] == "engine-light-blinks"
    for audience in Audience:
        walk = begin_walk(knowledge, "plugs-coils", "engine-light-blinks", audience)
        assert "lamp-flashing" not in walk.step.checks
        assert walk.view.raised  # and it stays a danger sign


def test_the_blinking_light_is_read_back_in_one_plain_phrase(knowledge):
    assert result_alone(knowledge.checks["lamp-flashing"], "flashes") == "the check-engine light blinks"


@pytest.mark.parametrize(
    ("service", "complaint", "other"), [("battery", "no-start-cranks", False), ("oil-service", "oil-lamp", True)]
)
def test_no_other_danger_sign_is_said_only_where_one_was_named(knowledge, service, complaint, other):
    walk = begin_walk(knowledge, service, complaint, Audience.PHONE)
    walk = walk.imagine(walk.answers({sign: knowledge.checks[sign].expected for sign in walk.step.checks}))
    said = confirm_back(walk, walk.advice())
    assert ("You see no other danger signs." in said) is other
    assert "danger signs." in said


def test_who_says_it_starts_as_usual_is_not_asked_how_the_starter_sounds(knowledge):
    walk = begin_walk(knowledge, "battery", "radio-code", Audience.PHONE)
    assert "crank-speed" not in walk.view.askable()
    slow = walk.imagine(walk.answers({"start": "long-crank"}))
    assert "crank-speed" in slow.view.askable()


def test_no_question_supposes_that_a_trouble_named_may_never_have_been(knowledge):
    asked = [check for check in knowledge.checks.values() if check.needs and check.asks_customer]
    assert asked
    assert not [check.id for check in asked if "if ever" in str(check.say)]


@pytest.mark.parametrize("audience", list(Audience))
def test_a_single_danger_sign_is_a_plain_question(knowledge, audience):
    walk = begin_walk(knowledge, "plugs-coils", "rough-idle", audience)
    one = walk.with_step(steps.DangerScreen(("cabin-fumes",)))
    text = shown(one)
    assert "danger signs" not in text
    assert (str(knowledge.checks["cabin-fumes"].say) in text) is (audience is Audience.PHONE)
    answer = read_answer(one, "y")
    assert isinstance(answer, Record)
    assert answer.fact.results["cabin-fumes"] != knowledge.checks["cabin-fumes"].expected
    assert read_answer(one, "n").fact.results["cabin-fumes"] == knowledge.checks["cabin-fumes"].expected
    assert "which ones" not in screens.hint(one)


def test_several_results_of_a_single_sign_are_typed_with_their_letter(knowledge):
    walk = begin_walk(knowledge, "plugs-coils", "rough-idle", Audience.PHONE)
    one = walk.with_step(steps.DangerScreen(("stalls",)))
    assert "1a" in screens.hint(one)
    assert "1b" in read_answer(one, "y").text
    assert read_answer(one, "1b").fact.results == {"stalls": "while-driving"}


def test_nobody_asks_how_a_towed_car_drives(knowledge):
    walk = begin_walk(knowledge, "plugs-coils", "rough-idle", Audience.BAY)
    assert {"bumps", "hill-pull"} <= {*walk.view.askable()}
    towed = walk.imagine(facts.Advised("tow", agreed=True))
    assert {"bumps", "hill-pull"}.isdisjoint(towed.view.askable())
    dripping = walk.imagine(walk.answers({"raw-fuel": "smell"}))
    assert "bumps" not in dripping.view.askable()


def test_the_bay_asks_the_customer_not_a_driver(knowledge):
    asked = [check for check in knowledge.checks.values() if check.asks_customer and check.do]
    assert not [check.id for check in asked if "the driver" in check.do]


def test_when_the_oil_light_came_on_is_asked_only_of_a_car_where_it_did(knowledge):
    for audience in Audience:
        leak = begin_walk(knowledge, "oil-service", "oil-leak", audience)
        assert {"oil-lamp-when", "oil-lamp-before"}.isdisjoint(leak.view.askable())
        lit = begin_walk(knowledge, "oil-service", "oil-lamp", audience)
        assert "oil-lamp-when" in lit.view.askable()


def test_water_from_the_air_conditioner_stops_no_round_and_spoils_no_proof(knowledge):
    walk = begin_walk(knowledge, "oil-service", "rough-idle", Audience.BAY)
    round_ = walk.with_step(steps.LookRound(("drip-kind", "oil-cap-milk"), 1.0, 1.0))
    answer = read_answer(round_, "1a").fact.results
    assert answer["drip-kind"] == "water"
    assert "oil-cap-milk" in answer  # the round went on
    assert list(read_answer(round_, "1b").fact.results) == ["drip-kind"]
    assert "harmless" in shown(round_)


def test_a_proof_holds_though_the_air_conditioner_drips(knowledge):
    walk = begin_walk(knowledge, "oil-service", "oil-leak", Audience.BAY).imagine(facts.Repaired("wipe-undertray"))
    for _ in range(4):
        asked = steps.checks_of(walk.step)
        walk = walk.imagine(walk.answers({check: knowledge.checks[check].expected for check in asked}))
        if "drip-kind" in asked:
            walk = walk.imagine(walk.answers({"drip-kind": "water"}))
    assert walk.view.results["drip-kind"] == "water"
    assert isinstance(walk.step, steps.CloseCase)


def test_the_hint_of_a_list_of_signs_stays(knowledge):
    walk = begin_walk(knowledge, "plugs-coils", "rough-idle", Audience.PHONE)
    assert wording.DANGER_PHONE in shown(walk)
    assert "which ones" in screens.hint(walk)


@pytest.mark.parametrize("no", ["n", "no", "none"])
def test_no_is_no_complaint(press, no):
    _, screen, walk = press("phone", f"n\rintake\r{no}\rq\r")
    assert walk.case.complaint is None
    assert wording.NO_COMPLAINT in " ".join(screen.split())


def test_what_fits_no_complaint_is_noted_aloud(press, knowledge):
    other = next(entry for entry in knowledge.complaints.values() if not entry.reports)
    _, screen, walk = press("phone", "n\rintake\ridles rough\rn\rq\r")
    assert walk.case.complaint == other.id
    assert f"Noted: {other.name.lower()}." in " ".join(screen.split())


def test_enter_alone_skips_no_question_after_the_advice(press):
    """The call goes on until somebody types x; help says that Enter alone never answers."""
    call = "n\rintake\ridles rough\r1\rn\r1\r" + "d\r" * 7 + "y\r"
    _, screen, walk = press("phone", f"{call}\rx\r")
    assert wording.FOR_THE_BAY in screen
    assert wording.EMPTY.format(hint=wording.FOR_THE_BAY_HINT) in screen
    assert "Enter" not in wording.FOR_THE_BAY_HINT
    assert walk.case.disposition is not None


def test_a_record_labels_how_the_car_is_built_and_repeats_no_question(knowledge):
    walk = begin_walk(knowledge, "plugs-coils", "rough-idle", Audience.PHONE)
    walk = walk.imagine(facts.ConditionNamed("drive", "gasoline"))
    text = rendered(knowledge, walk.events, "text")
    assert re.search(r"^  Fuel +gasoline$", text, re.MULTILINE)
    assert "run on" not in text
    assert "Fuel: gasoline" in [f"{item.asked}: {item.said}" for item in earlier_answers(walk)]


def test_clear_water_is_no_danger_sign_to_repeat_and_says_what_settled_it(press, knowledge):
    _, screen, walk = press("phone", "n\rcoolant\rthere is a puddle under the car, clear water\r1\r3a\ry\r")
    assert walk.case.solved is not None
    told = " ".join(screen.split())
    assert "You see no danger signs. That should settle it." in told
    result = knowledge.checks["drip-kind"].results["water"]
    ended = " ".join(Look().paint(result_lines(walk, Look(), "the log")).split())
    assert f"Solved on the phone: {knowledge.checks['drip-kind'].name}: {result}" in ended
    assert "harmless" not in told  # the caller is to say what it is


def test_who_was_told_not_to_drive_is_not_asked_how_the_car_drives(knowledge):
    walk = begin_walk(knowledge, "plugs-coils", "engine-light-blinks", Audience.PHONE)
    walk = walk.imagine(walk.answers({sign: knowledge.checks[sign].expected for sign in walk.step.checks}))
    told = walk.imagine(facts.Advised("tow", agreed=True))
    assert {"bumps", "hill-pull"}.isdisjoint(told.view.askable())


def test_a_single_danger_sign_is_read_back_as_one(knowledge):
    walk = begin_walk(knowledge, "plugs-coils", "rough-idle", Audience.PHONE)
    walk = walk.imagine(walk.answers({"lamp-flashing": "flashes"}))
    assert "Danger sign: the check-engine light blinks." in confirm_back(walk, walk.advice())
