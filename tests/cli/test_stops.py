"""Stop screens, the caller who drives, and the advice set by people: up with a reason, down with a second person.

All cases are invented.
"""

import pytest

from comeback.cli import exit_codes
from comeback.cli.screens import wording
from comeback.engine.case import facts
from comeback.engine.walk import steps
from comeback.kb.vocabulary import Level

CALL = "n\r1\rno light\r1\r"
BAY = "1\rno light\r1\r"
LEAVE = "q\r"
CARELESS = ["\r", "y\r", "1\r", "ok\r", "safe told\r", "d\r", "note\r"]


def test_a_caller_who_drives_is_stopped_before_anything_else(press, small):
    _, screen, walk = press("phone", "y\r1\r\ry\r" + LEAVE, known=small)
    assert screen.index(wording.DRIVING) < screen.index("The caller is driving") < screen.index(wording.DRIVING_STOP)
    assert "Which service" not in screen
    _, screen, walk = press("phone", "y\rstopped\r" + LEAVE, known=small)
    assert "Which service" in screen
    assert [event.kind for event in walk.events] == ["opened", "driving", "warned"]


@pytest.mark.parametrize("keys", ["\r", "maybe\r", "7\r"])
def test_whether_the_caller_drives_is_no_careless_answer(press, small, keys):
    _, _, walk = press("phone", keys + LEAVE, known=small)
    assert walk.case.id in ("", "-")


@pytest.mark.parametrize("keys", CARELESS)
def test_get_clear_stands_on_its_own_screen_that_only_its_word_passes(press, small, keys):
    _, screen, walk = press("phone", CALL + "1\r" + keys + LEAVE, known=small)
    assert "WARNING  Get clear" in screen
    assert "Read back" not in screen
    assert all(event.kind != "warned" for event in walk.events)


def test_what_was_said_on_the_stop_screen_is_logged_with_its_word(press, small):
    _, screen, walk = press("phone", CALL + "1\rtold\r" + LEAVE, known=small)
    assert "Read back" in screen.split("Type  told", 1)[1]
    assert walk.events[-1].kind == "warned"
    assert walk.events[-1].payload == {"stop": "get-clear", "word": "told", "said": ["Get away.", "Call for help."]}


@pytest.mark.parametrize("keys", CARELESS)
def test_a_danger_sign_in_the_bay_stops_the_walk(press, small, keys):
    _, screen, walk = press("bay", BAY + "1\r" + keys + LEAVE, known=small)
    assert "Danger signs found" in screen
    assert "Sparks: Sparks" in screen
    assert "Let the lamp cool." in screen.split("Danger signs found", 1)[1]
    assert {event.kind for event in walk.events} <= {"opened", "service", "complaint", "answered"}
    assert [answer.check for answer in walk.case.answers] == ["spark"]


def test_a_danger_sign_is_shown_again_when_the_walk_is_resumed(press, small):
    _, _, walk = press("bay", BAY + "1\rsafe\r" + LEAVE, known=small)
    _, screen, _ = press("bay", LEAVE, case=walk.case.id, known=small)
    assert "Danger signs found" in screen


def test_the_advice_goes_up_with_a_reason_at_any_time(press, small):
    _, screen, walk = press(
        "phone", "n\r1\rup get-clear\rup get-clear caller smells smoke\rtold\ry\rn\rn\r" + LEAVE, known=small
    )
    assert "Give the reason too" in screen
    assert walk.case.disposition == "get-clear"
    (override,) = walk.case.overrides
    assert (override.to, override.reason, override.second) == ("get-clear", "caller smells smoke", "")
    assert walk.events[-1].payload["ruled"] == override.ruled


@pytest.mark.parametrize(
    "keys", ["down book looks harmless\r", "down book looks harmless by Ida\r", "down book by Ben\r"]
)
def test_the_advice_never_goes_down_without_reason_and_second_person(press, small, keys):
    _, _, walk = press("phone", CALL + "n\r" + keys + LEAVE, known=small)
    assert walk.case.overrides == ()


def test_a_second_named_person_may_agree_to_something_milder_and_it_is_shown(press, small):
    _, screen, walk = press("phone", CALL + "n\rtold\rdown come-in known lamp by Ben\ry\r", known=small)
    assert "Set by Ida, with Ben: known lamp." in screen
    assert walk.case.disposition == "come-in"
    assert walk.case.overrides[0].second == "Ben"


def test_a_milder_advice_does_not_outlive_a_worse_ruling(press, small):
    """Agreed to under one ruling; then a danger sign is reported."""
    keys = CALL + "n\rtold\rdown come-in known lamp by Ben\redit 3\ry\r" + LEAVE
    _, screen, walk = press("phone", keys, known=small)
    assert isinstance(walk.step, steps.Advise)
    assert walk.effective_advice(walk.step.disposition).word == "get-clear"
    assert "WARNING  Get clear" in screen.split("It was", 1)[1]


def test_a_caller_who_says_no_is_kept_until_it_is_right(press, small):
    code, _, walk = press("phone", CALL + "n\rtold\rn\r" + LEAVE, known=small)
    assert code == exit_codes.PAUSED
    assert walk.case.read_back is False
    assert walk.case.disposition is None
    code, _, walk = press("phone", CALL + "n\rtold\rn\ry\rn\rn\r", known=small)
    assert code == exit_codes.DONE
    assert walk.case.read_back is True
    assert len(walk.events[-1].payload["read_back"].split()) <= 75


def test_a_registration_is_spelt_back_and_taken_only_when_typed_twice_alike(press, small):
    _, screen, walk = press("phone", "n\rplate ab-12 c\rplate AB 12C\r" + LEAVE, known=small)
    assert "Alfa Bravo, one two, Charlie" in screen
    assert walk.case.registration == "AB-12 C"
    _, screen, walk = press("phone", "n\rplate ab15\rplate ab50\r" + LEAVE, known=small)
    assert walk.case.registration == ""
    assert "That differs" in screen


def test_a_walk_is_renamed_and_given_to_somebody_by_name(press, small):
    _, _, walk = press("phone", CALL + "rename red van\rgive to Ben\r" + LEAVE, known=small)
    assert (walk.case.car, walk.case.given_to) == ("red van", "Ben")


def test_a_specialist_at_the_keyboard_does_what_others_hand_over(press, knowledge):
    from comeback.cli.look import Look
    from comeback.cli.prompt.session import PromptSession, ScreenState
    from comeback.cli.prompt.step_screen import show_screen
    from comeback.cli.readers import PipeReader
    from comeback.engine.walk.walk import open_walk
    from comeback.kb.vocabulary import Audience

    repair = next(r.id for r in knowledge.repairs.values() if r.level is Level.SPECIALIST)
    walk = open_walk(knowledge, Audience.BAY)
    walk = walk.imagine(facts.ServiceNamed(service=next(iter(knowledge.services))))
    walk = walk.with_step(steps.HandOver("this repair needs a specialist", repair))
    for level, expected in ((Level.SPECIALIST, steps.DoRepair), (Level.TECHNICIAN, steps.HandOver)):
        state = show_screen(PromptSession(PipeReader(), Look(), None, "Ida", level=level), ScreenState(walk))
        assert isinstance(state.walk.step, expected)


@pytest.mark.parametrize("answer", ["y", "d"])
def test_a_caller_who_drives_is_told_how_to_stop_a_car_that_will_not_slow_down(press, small, answer):
    """Order of the National Highway Traffic Safety Administration; its source stands beside the constant."""
    _, screen, _ = press("phone", f"{answer}\r{LEAVE}", known=small)
    told = " ".join(screen.split())
    assert told.index("please stop in a safe place") < told.index("If it will not slow down")
    order = [told.index(part) for part in ("brake hard and do not let up", "shift to neutral", "then switch off")]
    assert order == sorted(order)


@pytest.mark.parametrize(
    "said",
    ["racing", "it is racing", "won't slow down", "cannot stop", "can't stop", "it will not stop", "gas pedal stuck",
     "speeding up by itself", "it keeps revving"],
)  # fmt: skip
def test_words_of_a_car_that_will_not_slow_down_bring_what_to_do_up_on_top(press, said):
    _, screen, walk = press("phone", f"y\r{said}\r{LEAVE}")
    after = " ".join(screen.split("For you", 1)[1].split())
    assert after.index(wording.RACING) < after.index("If it will not slow down") < after.index("please stop in a safe")
    assert walk.events[-1].kind == "driving"  # only the word passes the screen
    _, screen, _ = press("phone", f"y\r{said}\rstopped\r{LEAVE}")
    assert "Which service" in screen


@pytest.mark.parametrize(
    ("said", "first"),
    [("the hood popped up", "look through the gap below the hood"), ("no brakes", "pump the brake pedal fast")],
)
def test_a_driver_is_told_what_to_do_about_the_danger_before_stopping(press, said, first):
    """Common practice of driver education, no source."""
    for typed in (f"y\r{said}\r{LEAVE}", f"{said}\r{LEAVE}"):
        screen = " ".join(press("phone", typed)[1].split())
        assert first in screen


@pytest.mark.parametrize("said", ["yes I stopped", "hello", "7", "the radio is off"])
def test_other_words_on_that_screen_are_told_what_passes_it(press, said):
    _, screen, _ = press("phone", f"y\r{said}\r{LEAVE}")
    assert wording.RACING not in screen
    assert screen.count(wording.DRIVING_STOP) == 2


def test_a_car_that_will_not_slow_down_is_told_so_also_at_the_question_whether_the_caller_drives(press):
    _, screen, _ = press("phone", f"it won't slow down\r{LEAVE}")
    assert "shift to neutral" in " ".join(screen.split())
