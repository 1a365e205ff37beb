"""What is said to a caller: danger signs in words, nothing that nobody could tell as a fact, at most 75 words.

The sentences are read as a caller would hear them (common practice, no source).
"""

import pytest

from comeback.cli.screens.spoken import confirm_back, words_to_say
from comeback.engine.case import facts
from comeback.engine.case.result_words import result_alone
from comeback.engine.walk import steps
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience, Disposition


def call(knowledge, complaint, answers, words="it runs badly"):
    walk = open_walk(knowledge, Audience.PHONE)
    walk = walk.imagine(facts.ServiceNamed(service=next(iter(knowledge.services))))
    walk = walk.imagine(facts.ComplaintNamed(complaint=complaint, words=words))
    return walk.imagine(walk.answers(answers, "", "")) if answers else walk


def read_back(walk, level):
    flags = walk.advice().flags
    return confirm_back(walk, steps.Advise(level, level, flags, {}))


@pytest.mark.parametrize(
    ("check", "result", "said"),
    [
        ("hood-smoke", "smoke", "smoke or flames"),
        ("brake-pedal", "hard", "the brake pedal is hard"),
        ("heat-gauge", "hot", "temperature gauge: in the red, a red light, or steam"),
        ("metal-knock", "knocks", "metal knocks"),
    ],
)
def test_a_sign_is_said_by_its_result(knowledge, check, result, said):
    assert result_alone(knowledge.checks[check], result) == said


def test_what_nobody_could_tell_is_not_said_as_a_fact(knowledge):
    signs = knowledge.complaints["rough-idle"].red_flags
    answers = dict.fromkeys(signs)
    assert "You could not tell about any danger sign." in read_back(call(knowledge, "rough-idle", answers), 3)
    answers = {sign: knowledge.checks[sign].expected for sign in signs} | {"hood-smoke": None}
    text = read_back(call(knowledge, "rough-idle", answers), 3)
    assert "You could not tell: smoke or flames." in text
    assert "You see no danger signs" not in text


def test_no_danger_signs_is_said_only_if_they_were_asked_and_nobody_set_it_higher(knowledge):
    signs = knowledge.complaints["rough-idle"].red_flags
    walk = call(knowledge, "rough-idle", {sign: knowledge.checks[sign].expected for sign in signs})
    assert "You see no danger signs." in read_back(walk, 1)
    assert "danger signs" not in read_back(call(knowledge, "rough-idle", {}), 1)
    raised = {"ruled": "book", "to": "tow", "reason": "caller sounds afraid", "second": ""}
    assert "danger signs" not in read_back(walk.imagine(facts.Overridden(**raised)), 3)


def test_a_complaint_that_is_a_danger_sign_itself_is_not_read_back_as_none(knowledge):
    signs = knowledge.complaints["overheating"].red_flags
    walk = call(knowledge, "overheating", {sign: knowledge.checks[sign].expected for sign in signs})
    assert "You see no danger signs" not in read_back(walk, 3)
    assert "You see no other danger signs." in read_back(walk, 3)


def test_who_must_get_clear_hears_one_short_line(knowledge):
    walk = call(knowledge, "rough-idle", {"hood-smoke": "smoke"}, words="word " * 40)
    text = read_back(walk, Disposition.GET_CLEAR)
    assert len(f'Read back   "{text}"') < 80


@pytest.mark.parametrize("complaint", ["rough-idle", "overheating", "high-idle"])
@pytest.mark.parametrize("answer", ["expected", None, "worst"])
def test_a_read_back_has_at_most_75_words(knowledge, complaint, answer):
    signs = knowledge.complaints[complaint].red_flags
    picked = {s: {"expected": knowledge.checks[s].names[0], "worst": knowledge.checks[s].names[-1]}.get(answer)
              for s in signs}  # fmt: skip
    for level in Disposition:
        assert len(read_back(call(knowledge, complaint, picked, words="word " * 40), level).split()) <= 75


def test_the_light_is_named_only_if_a_lamp_was_spoken_of(knowledge):
    advice = knowledge.dispositions[Disposition.BOOK]
    quiet, lit = call(knowledge, "rough-idle", {}), call(knowledge, "engine-light", {})
    assert not any("the light" in text for text in words_to_say(quiet, advice))
    assert words_to_say(lit, advice) == list(advice.say)


@pytest.mark.parametrize(
    ("said", "heard"),
    [
        ("It squeals when I turn the wheel.", "It squeals when I turn the wheel."),
        ("It squeals!", "It squeals."),
        (
            "It starts and then dies. If I keep my foot on it it will run but it has no guts, and the light came on",
            "It starts and then dies. If I keep my foot on it it will run but it has no guts.",
        ),
        ("a " * 30, "a a a a a a a a a a a a a a a a a a a a ..."),
    ],
)
def test_own_words_are_read_back_as_a_sentence_that_ends_once_and_not_in_the_middle(knowledge, said, heard):
    """It was: "when I turn the wheel.. It began", "no guts, and. It began"."""
    walk = call(knowledge, "rough-idle", {}, words=said)
    assert f"You say: {heard} It began after the" in read_back(walk, 1)


def test_who_complains_that_the_engine_dies_is_not_told_to_stop_if_it_dies(knowledge):
    """A car that dies at stops may be driven to the shop; one that dies on the road is towed."""
    stalls = knowledge.checks["stalls"].red_flag
    assert (stalls["at-stops"], stalls["while-driving"]) == (Disposition.COME_IN, Disposition.TOW)
    dies = [line for line in knowledge.dispositions[Disposition.COME_IN].worse if "dies" in line]
    assert dies
    assert all("while moving" in line for line in dies)
