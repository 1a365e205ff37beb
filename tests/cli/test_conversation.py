"""The prompt, by the keys that people press; an empty line at the end of keys is never an answer.

All cases are invented.
"""

import pytest

from comeback.cli import exit_codes
from comeback.cli.prompt.registry import help_lines
from comeback.cli.screens import wording
from comeback.engine.case import facts
from comeback.engine.walk import steps

BAY_TO_DANGER = "1\rit shakes at idle\r1\r"
TO_DANGER = "n\r" + BAY_TO_DANGER  # on the phone first: the caller is not driving
LEAVE = "q\r"


def test_call_begins_with_service_and_open_question(press):
    code, screen, walk = press("phone", TO_DANGER + LEAVE)
    assert code == exit_codes.PAUSED
    assert wording.OPEN_QUESTION in screen
    assert walk.case.words == "it shakes at idle"
    assert walk.case.complaint == "rough-idle"
    assert isinstance(walk.step, steps.DangerScreen)


def test_every_answer_is_in_the_log_before_the_next_question(press, log):
    _, _, walk = press("phone", TO_DANGER + LEAVE)
    kinds = [event.kind for event in log().events(walk.case.id)]
    assert kinds == ["opened", "driving", "service", "complaint"]


def test_nothing_answered_opens_no_case(press, log):
    code, screen, _ = press("phone", LEAVE)
    assert code == exit_codes.PAUSED
    assert wording.NOT_OPENED in screen
    assert log().cases() == ()


@pytest.mark.parametrize("keys", ["\r", "y\r", "7\r", "maybe\r", "999999999999\r", "\x00\r"])
def test_danger_screen_takes_no_careless_answer(press, keys):
    _, screen, walk = press("phone", TO_DANGER + keys + LEAVE)
    assert isinstance(walk.step, steps.DangerScreen)
    assert "answer this" in screen or "Enter alone does nothing" in screen


def test_unknown_danger_signs_count_as_the_worse_answer(press):
    _, screen, walk = press("phone", TO_DANGER + "d\r" + "d\r" + LEAVE)
    assert wording.DANGER_AGAIN.split(".")[0] in " ".join(screen.split())
    assert isinstance(walk.step, steps.Advise)
    assert walk.step.disposition.word == "tow"  # only who sees or smells it is sent away from the car


def test_a_named_sign_is_recorded_and_the_others_as_not_there(press, knowledge):
    _, _, walk = press("phone", TO_DANGER + "1\r" + LEAVE)
    flags = knowledge.complaints["rough-idle"].red_flags
    assert walk.case.answer(flags[0]).result == knowledge.checks[flags[0]].names[1]
    assert {walk.case.answer(f).result == knowledge.checks[f].expected for f in flags[1:]} == {True}


def test_back_takes_back_any_number_of_answers(press):
    code, screen, walk = press("phone", TO_DANGER + "n\r" + "b\rb\rb\rb\rb\r" + LEAVE)
    assert wording.DRIVING_HINT in screen.rsplit("Taken back", 1)[1]
    assert wording.NOTHING_TO_TAKE_BACK in screen
    assert walk.case.last == 1 + 4 + 4  # opened, four answers, four taken back: nothing is erased
    assert code == exit_codes.PAUSED


def test_ctrl_d_pauses_and_ctrl_c_needs_two_presses(press):
    code, screen, _ = press("phone", TO_DANGER + "\x04")
    assert code == exit_codes.PAUSED
    assert "Saved as case" in screen
    code, screen, _ = press("phone", TO_DANGER + "\x03\x03")
    assert code == exit_codes.INTERRUPTED
    assert wording.AGAIN in screen


def test_ctrl_c_with_text_only_clears_it(press):
    _, _, walk = press("phone", TO_DANGER + "nonsense\x03n\r" + LEAVE)
    assert walk.case.answer("hood-smoke").result == "none"


def test_why_is_at_most_five_lines_on_every_step_of_a_walk(press, knowledge):
    from comeback.cli.look import Look
    from comeback.cli.screens.why import why

    _, _, walk = press("bay", BAY_TO_DANGER + "n\r" + LEAVE)
    for _ in range(6):
        lines = why(walk, Look())
        assert 1 <= len(lines) <= 5
        assert all(len(text) < 80 for _, text in lines)
        if not isinstance(walk.step, steps.MakeCheck):
            break
        expected = knowledge.checks[walk.step.check].expected
        walk = walk.imagine(walk.answers({walk.step.check: expected}, "", ""))


def test_why_says_that_two_causes_may_be_there_where_their_chances_pass_100_percent(knowledge, monkeypatch):
    from comeback.cli.look import Look
    from comeback.cli.screens.why import why
    from comeback.engine.walk.case_view import CaseView
    from comeback.engine.walk.walk import open_walk
    from comeback.kb.vocabulary import Audience

    one, other, *_ = knowledge.causes
    walk = open_walk(knowledge, Audience.BAY).with_step(steps.HandOver("now", None))
    for second, said in ((0.05, False), (0.8, True)):
        found = [(one, 0.9), (other, second)]
        monkeypatch.setattr(CaseView, "repair_candidates", lambda _view, least=0.0, found=found: found)
        text = " ".join(line.strip() for _, line in why(walk, Look()))
        assert "90 %" in text
        assert ("can have more than one" in text) is said


def test_notes_are_kept_with_the_case(press):
    _, screen, walk = press("phone", TO_DANGER + "note customer waits at the station\r" + LEAVE)
    assert wording.NOTED in screen
    assert walk.case.notes[0][2] == "customer waits at the station"


def test_help_is_there_on_any_step(press):
    _, screen, _ = press("phone", "?\r" + TO_DANGER + "?\r" + LEAVE)
    assert screen.count(help_lines()[0]) == 2


def test_bay_goes_on_where_the_call_ended_and_asks_nothing_again(press, knowledge):
    _, _, call = press("phone", TO_DANGER + "n\r1\r1\r1\r1\r1\r1\r1\r1\r1\r" + LEAVE)
    known = {a.check for a in call.case.answers if a.result is not None}
    _, _, bay = press("bay", "q\r", case=call.case.id)
    asked = set()
    for _ in range(12):
        match bay.step:
            case steps.MakeCheck(check=check):
                checks = (check,)
            case steps.ReadPanel(checks=checks) | steps.LookRound(checks):
                pass
            case steps.ChooseCondition(feature, _):
                bay = bay.imagine(facts.ConditionNamed(feature=feature, value=None))
                continue
            case _:
                break
        asked |= set(checks)
        bay = bay.imagine(bay.answers(dict.fromkeys(checks), "", ""))
    assert asked
    assert not asked & known


def test_a_color_code_out_of_pasted_text_does_not_end_the_sitting(press):
    """The line editor reads such a code as the mouse's report (its own source, pasted without brackets)."""
    code, _, walk = press("phone", "n\r\x1b[31m9\x1b[0m\r" + LEAVE)
    assert code == exit_codes.PAUSED
    assert walk.case.services == ("plugs-coils",)
