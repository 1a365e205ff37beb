"""A caller who calls again: new danger is told, what was told stays in the record, refusals and contacts are kept.

Expected advice follows from the small knowledge: sparks are a danger sign that asks for get-clear.

All cases are invented.
"""

import pytest

from comeback.cli import exit_codes
from comeback.cli.look import Look
from comeback.cli.records.case_list import unfinished
from comeback.cli.records.formats import record_data, rendered
from comeback.cli.records.record import Record
from comeback.cli.screens import wording
from comeback.cli.screens.advice_now import advice_now, state_of
from comeback.cli.screens.summary import result_lines
from comeback.engine.case.case import read_case
from comeback.engine.walk import steps
from comeback.kb.vocabulary import Audience, Disposition

CALL = "n\r1\rno light\r1\r"
TOLD_TOW = CALL + "n\rtold\ry\rn\rn\r"
LEAVE = "q\r"


@pytest.fixture
def call(press, small):
    """A call that ended with tow; no sparks were seen."""
    code, _, walk = press("phone", TOLD_TOW, known=small)
    assert code == exit_codes.DONE
    assert walk.case.disposition == "tow"
    return walk


def test_a_tow_without_a_number_says_so_at_the_end_and_enter_skips_neither_question(press, small):
    _, screen, walk = press("phone", CALL + "n\rtold\ry\r\rn\r\rn\r", known=small)
    assert screen.count(wording.EMPTY.format(hint=wording.CONTACT_HINT)) == 2
    told = " ".join(text for _, text in result_lines(walk, Look(), "the log"))
    assert "no place taken, no number taken" in " ".join(told.split())
    _, _, walk = press("phone", CALL + "n\rtold\ry\rMill Road\r555 0100\r", known=small)
    told = " ".join(text for _, text in result_lines(walk, Look(), "the log"))
    assert "from Mill Road, call back 555 0100" in " ".join(told.split())


def test_x_skips_place_and_number_as_it_skips_what_is_asked_for_the_bay(press, small):
    _, _, walk = press("phone", CALL + "n\rtold\ry\rx\rX\r", known=small)
    assert walk.case.disposition == "tow"
    assert (walk.case.place, walk.case.phone) == ("", "")


def state(small, walk):
    return state_of(read_case(walk.events), advice_now(small, walk.events), "2026")


def test_new_danger_in_a_second_call_brings_the_stop_screen_again(press, small, call):
    _, screen, walk = press("phone", "n\redit 3\ry\r" + LEAVE, case=call.case.id, known=small)
    assert "WARNING  Get clear" in screen
    assert isinstance(walk.step, steps.Advise)
    assert walk.advice_due is Disposition.GET_CLEAR
    assert "get-clear: NOT TOLD, due since" in state(small, walk)
    assert "told tow" in state(small, walk)  # both, with both times


def test_what_was_told_then_is_told_again_and_both_stand_in_the_record(press, small, call):
    code, _, walk = press("phone", "n\redit 3\ry\rtold\ry\rn\rn\r", case=call.case.id, known=small)
    assert code == exit_codes.DONE
    assert [(told.disposition, told.how) for told in walk.case.told if told.ended] == [
        ("tow", "agreed"), ("get-clear", "agreed")
    ]  # fmt: skip
    text = rendered(small, walk.events, "text")
    assert "tow, Tow" in text
    assert "get-clear, Get clear" in text
    assert walk.events[: len(call.events)] == call.events  # nothing is rewritten


def test_advice_raised_by_a_person_after_the_call_is_told(press, small, call):
    _, screen, walk = press("phone", "n\rup get-clear smoke now\r" + LEAVE, case=call.case.id, known=small)
    assert "WARNING  Get clear" in screen
    assert advice_now(small, walk.events).due is Disposition.GET_CLEAR
    _, screen, walk = press("phone", "n\rup get-clear it burns\rtold\ry\rn\rn\r", case=call.case.id, known=small)
    assert "It is already 'get-clear'" in screen
    assert [override.reason for override in walk.case.overrides] == ["smoke now", "it burns"]
    assert walk.case.disposition == "get-clear"


@pytest.mark.parametrize("keys", ["1\rtold\rn\r", "n\rup get-clear sparks now\r"])
def test_advice_that_was_not_agreed_is_in_lists_and_record_and_unfinished(press, small, log, keys):
    code, _, walk = press("phone", CALL + keys + LEAVE, known=small)
    assert code == exit_codes.PAUSED
    assert "get-clear: " in state(small, walk)
    assert record_data(Record(small, walk.events))["due"] == "get-clear"
    found = unfinished(log(), small, Audience.PHONE, "Ida", walk.events[-1].at)
    assert [offer.case for offer in found] == [walk.case.id]
    assert found[0].due
    _, screen, _ = press("phone", "n\r" + LEAVE, case=walk.case.id, known=small)
    assert "WARNING  Get clear" in screen  # nothing else is asked first


def test_nothing_answered_later_makes_what_was_told_milder(press, small):
    _, _, walk = press("phone", CALL + "1\rtold\ry\rn\rn\r", known=small)
    _, _, walk = press("phone", "n\redit 3\rn\r" + LEAVE, case=walk.case.id, known=small)
    assert walk.advice_due is None
    assert walk.effective_advice(walk.advice().disposition) is Disposition.GET_CLEAR


def test_another_call_begins_with_driving_and_danger_signs_and_asks_what_changed(press, small, call):
    _, screen, walk = press("phone", "x\ragain\rn\rn\rit flickers now\r" + LEAVE, case=call.case.id, known=small)
    assert screen.index(wording.AFTER_CALL[0]) < screen.rindex("Do you see sparks?") < screen.index(wording.CHANGED)
    assert [words for _, _, words in walk.case.said] == ["it flickers now"]
    assert walk.case.words == "no light"
    assert isinstance(walk.step, steps.Advise)
    assert "called again, not ended; told tow" in state(small, walk)


def test_another_call_with_a_danger_sign_goes_straight_to_the_advice(press, small, call):
    _, screen, walk = press("phone", "n\ragain\r1\r" + LEAVE, case=call.case.id, known=small)
    assert wording.CHANGED not in screen
    assert walk.effective_advice(walk.step.disposition) is Disposition.GET_CLEAR


def test_resuming_asks_again_whether_the_caller_drives(press, small):
    _, _, walk = press("phone", CALL + LEAVE, known=small)
    _, screen, walk = press("phone", "y\r\rstopped\r" + LEAVE, case=walk.case.id, known=small)
    assert screen.index(wording.DRIVING) < screen.index("The caller is driving") < screen.index("Do you see sparks?")
    assert walk.case.driving is True


def test_who_cannot_tell_whether_the_caller_drives_has_the_car_stopped(press, small):
    _, screen, walk = press("phone", "d\r1\rstopped\r" + LEAVE, known=small)
    assert "may be driving" in screen
    assert record_data(Record(small, walk.events))["caller_driving"] == "don't know"
    assert walk.case.service is None  # `1` did not pass the stop screen


def test_a_refused_tow_is_recorded_with_its_words_and_no_truck_is_ordered(press, small):
    from comeback.cli.look import Look
    from comeback.cli.screens.summary import result_lines

    keys = CALL + "n\rtold\rrefused\rrefused Mr Oak says he drives home\r"
    code, screen, walk = press("phone", keys, known=small)
    assert code == exit_codes.DONE
    assert wording.REFUSED_HOW.split(":")[0] in " ".join(screen.split())
    assert walk.case.refused.words == "Mr Oak says he drives home"
    assert "tow REFUSED" in state(small, walk)
    text = " ".join(line.strip() for _, line in result_lines(walk, Look(), "x"))
    assert "order the tow truck" not in text
    assert "Mr Oak says he drives home" in " ".join(rendered(small, walk.events, "text").split())
    _, screen, _ = press("bay", LEAVE, case=walk.case.id, known=small)
    assert "Refused by the caller: Tow" in screen
    assert "Mr Oak says he drives home" in screen


def test_a_refusal_ends_with_a_later_yes_and_stays_in_the_record(press, small):
    _, _, walk = press("phone", CALL + "n\rtold\rrefused says no\r", known=small)
    _, _, walk = press("phone", "n\rtell\rtold\ry\rn\rn\r", case=walk.case.id, known=small)
    assert walk.case.refused is None
    assert [told.how for told in walk.case.told if told.ended] == ["refused", "agreed"]


def test_a_tow_asks_for_place_and_number_and_enter_leaves_them_open(press, small, call):
    assert (call.case.phone, call.case.place) == ("", "")
    _, _, walk = press("phone", CALL + "n\rtold\ry\rMill Road 4\r555 0100\r", known=small)
    assert (walk.case.place, walk.case.phone) == ("Mill Road 4", "555 0100")
    text = rendered(small, walk.events, "text")
    assert "555 0100" in text
    assert "Mill Road 4" in text


def test_a_milder_advice_by_two_is_read_out_too(press, small):
    keys = CALL + "1\rtold\rdown tow foreman is there by Ben\rup get-clear\r"
    _, screen, _ = press("phone", keys + LEAVE, known=small)
    assert "WARNING  Tow" in screen
    assert screen.index("WARNING  Get clear") < screen.index("WARNING  Tow")
    assert "Read back" not in screen.split("WARNING  Tow", 1)[1]


def test_milder_can_be_set_on_the_stop_screen_itself(press, small):
    _, screen, walk = press("phone", CALL + "1\rdown tow foreman is there by Ben\r" + LEAVE, known=small)
    assert "WARNING  Tow" in screen
    assert walk.case.overrides[-1].to == "tow"


def test_the_bay_reads_first_what_a_person_raised_and_why(press, small):
    _, _, walk = press("phone", CALL + "n\rup get-clear sparks at the socket\rtold\ry\rn\rn\r", known=small)
    _, screen, bay = press("bay", "1\r" + LEAVE, case=walk.case.id, known=small)
    assert "Get clear" in screen
    assert "sparks at the socket" in screen
    assert "Let the lamp cool." in screen  # the caution of the sign that the reason names
    assert all(answer.audience == "phone" for answer in bay.case.answers)
    _, _, bay = press("bay", "safe\r" + LEAVE, case=walk.case.id, known=small)
    assert bay.events[-1].payload["stop"] == "advice"


def test_peeking_from_the_bay_does_not_hide_what_was_told(press, small, call):
    _, _, walk = press("bay", LEAVE, case=call.case.id, known=small)
    assert state(small, walk).startswith("in the bay; told tow")


def test_a_registration_that_differed_is_kept_as_not_confirmed(press, small):
    _, screen, walk = press("phone", "n\rplate AB15\rplate AB50\r" + LEAVE, known=small)
    assert "Both are kept" in screen
    assert walk.case.unconfirmed == ("AB15", "AB50")
    assert "AB15, AB50 (not confirmed" in rendered(small, walk.events, "text")
    _, _, walk = press("phone", "n\rplate ab-50\r" + LEAVE, case=walk.case.id, known=small)
    assert walk.case.registration == "AB50"


def test_all_words_of_the_customer_are_kept(press, small):
    _, _, walk = press("phone", "n\r1\rno light\rit is dark\r1\r" + LEAVE, known=small)
    assert walk.case.words == "no light / it is dark"


def test_a_new_call_about_the_same_car_offers_the_earlier_case(press, small):
    keys = "n\rplate AB12\rplate AB12\r" + CALL.removeprefix("n\r") + "n\rtold\ry\rn\rn\r"
    _, _, walk = press("phone", keys, known=small, car="red van")
    _, screen, _ = press("phone", LEAVE, known=small, car="Red Van")
    assert f"Earlier case of this car: {walk.case.id}" in screen
    _, screen, again = press("phone", f"resume {walk.case.id}\rx\r" + LEAVE, known=small, car="red van")
    assert again.case.id == walk.case.id
    assert wording.AFTER_CALL[0] in screen
    _, screen, _ = press("phone", "n\rplate ab-12\rplate ab12\r" + LEAVE, known=small)
    assert f"Earlier case of this car: {walk.case.id}, told tow" in " ".join(screen.split())


@pytest.mark.parametrize(("full", "short"), [("no", "n"), ("NO", "n")])
def test_no_typed_in_full_is_taken_where_its_letter_is(knowledge, full, short):
    from comeback.cli.prompt.replies import Record, read_answer
    from comeback.engine.walk.walk import open_walk

    walk = open_walk(knowledge, Audience.PHONE).with_step(steps.MakeCheck("stalls", 1, 1, ()))
    assert isinstance(read_answer(walk, short), Record)
    assert read_answer(walk, full) == read_answer(walk, short)


def test_a_record_has_no_lines_of_what_was_not_asked(small, call):
    text = rendered(small, call.events, "text")
    assert text.count("not asked") <= 1
    assert text.count("Not asked") == 1
