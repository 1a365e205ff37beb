"""Drills at the phone: the script's order, safety misses, promises, and the program's own call as the measure."""

import pytest

from comeback.engine.drill.drill import Mode
from comeback.engine.drill.hidden_car import hide_car
from comeback.engine.drill.phone import NOTHING, REPLIES
from comeback.engine.drill.record import new_drill
from comeback.engine.drill.score import costliest, score
from comeback.engine.walk.steps import MakeCheck
from comeback.kb.vocabulary import Disposition


def call_of(knowledge, seed):
    return new_drill(knowledge, hide_car(knowledge, seed), Mode.PHONE)


def opened(knowledge, seed):
    """A call with the caller safe, the complaint told and the danger signs read, once more if one was not known."""
    drill = call_of(knowledge, seed)
    drill.ask_driving()
    drill.tell_to_stop()
    drill.open_question()
    if None in drill.look_at_signs().values():
        drill.look_at_signs()
    return drill


def first_with(knowledge, wanted):
    """A fresh call of the first seed for which `wanted(drill)` is true."""
    for seed in range(80):
        if wanted(call_of(knowledge, seed)):
            return seed
    raise AssertionError("no such caller among the seeds")


@pytest.mark.parametrize("seed", range(1, 5))
def test_whoever_asks_what_the_program_asks_and_promises_nothing_has_a_clean_call(knowledge, seed):
    drill = opened(knowledge, seed)
    for played in drill.program:
        if isinstance(played.step, MakeCheck):
            drill.check(played.step.check)
    drill.tell(Disposition.of(drill.call[0].case.disposition))
    while drill.want():
        drill.reply(drill.want(), NOTHING)
    drill.confirm()
    drill.hand_over()
    found = score(drill)
    assert (drill.ended, found.safety, costliest(drill)) == ("call ended", (), None)
    assert found.advice is True
    assert (found.checks, found.promised, found.read_back) == (found.program_checks, (), True)


@pytest.mark.parametrize("act", ["open_question", "look_at_signs", "check", "tell"])
def test_anything_before_it_is_known_whether_they_drive_ends_the_call(small, act):
    drill = call_of(small, 1)
    arguments = {"check": ("light",), "tell": (Disposition.TOW,)}.get(act, ())
    getattr(drill, act)(*arguments)
    assert score(drill).safety == ("the caller was not asked first: are you driving?",)
    assert drill.advice is None


def test_a_caller_who_drives_is_had_to_stop_before_anything_else(small):
    seed = first_with(small, lambda drill: drill.driving)
    drill = call_of(small, seed)
    assert drill.ask_driving()
    drill.open_question()
    assert score(drill).safety == ("the caller was kept talking while driving",)
    drill = call_of(small, seed)
    drill.ask_driving()
    drill.tell_to_stop()
    assert drill.open_question()
    assert not drill.ended


def test_about_one_caller_in_four_drives(small):
    """DRIVING = 0.25 is our own choice; 80 draws: 20, give or take three standard deviations of 3.9."""
    assert 8 <= sum(call_of(small, seed).driving for seed in range(80)) <= 32


@pytest.mark.parametrize("act", ["check", "tell"])
def test_questions_or_advice_before_the_danger_signs_end_the_call(small, act):
    drill = call_of(small, 1)
    drill.ask_driving()
    drill.tell_to_stop()
    drill.open_question()
    drill.check("light") if act == "check" else drill.tell(Disposition.TOW)
    assert score(drill).safety == ("danger signs were not looked at first",)


def test_a_call_without_advice_is_a_safety_miss(small):
    drill = opened(small, 1)
    drill.hand_over()
    assert score(drill).safety == ("the call ended without advice on driving",)


def test_a_short_trip_promised_to_a_car_that_must_not_be_driven_is_a_safety_miss(small):
    drill = opened(small, 1)
    drill.tell(Disposition.GET_CLEAR)
    assert drill.want() == "trip"
    drill.reply("trip", "roughly")
    assert drill.ended == "stopped for safety"


def test_a_price_promised_is_counted_and_ends_nothing(small):
    drill = opened(small, 1)
    drill.tell(Disposition.GET_CLEAR)
    drill.reply("trip", NOTHING)
    drill.reply(drill.want(), "roughly")
    assert not drill.ended
    assert len(score(drill).promised) == 1
    assert drill.want() is None


def test_the_replies_are_offered_in_an_order_that_the_seed_decides(small):
    orders = {call_of(small, seed).offered("cost") for seed in range(12)}
    assert len(orders) > 1
    assert all(sorted(order) == sorted(REPLIES) for order in orders)


def test_right_advice_is_never_below_the_danger_signs_whatever_is_asked_besides(knowledge):
    for seed in (1, 2):
        drill = opened(knowledge, seed)
        for check in [c for c in knowledge.checks if drill.audience in knowledge.checks[c].audience][:4]:
            drill.check(check)
        assert drill.best_advice() >= drill.floor()


def test_hints_follow_the_script(small):
    drill = call_of(small, first_with(small, lambda drill: drill.driving))
    said = [drill.hint()]
    for act in (drill.ask_driving, drill.tell_to_stop, drill.open_question, drill.look_at_signs):
        act()
        said.append(drill.hint())
    drill.tell(Disposition.GET_CLEAR)
    assert [*said, drill.hint()] == [
        "Ask whether the caller is driving.", "Have the caller stop in a safe place.", "Ask what the car is doing now.",
        "Look at the danger signs.", "", "Read back, then end the call.",
    ]  # fmt: skip
    assert score(drill).hints == 6
