"""Results over time: the pass rule, cars that come back, calibration, ids without names."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from comeback.engine.drill.results import (
    Result,
    calibration,
    due_cars,
    latest,
    learner_id,
    marks,
    train_next,
)

GOOD = Result("AAAA", "Ben", "2026-03-02T08:15:00+01:00", 100, "free", (1, None, None, "k1"), "dark", "complaint gone",
              (), True, True, 3, 3, 20.0, 20.0, 1, 0, 0, 0, 0, (), 0)  # fmt: skip


def on(day, **changed):
    """The result on another day, later in the log."""
    return replace(GOOD, day=day, at=f"2026-{day:05d}", **changed)


def test_ten_good_drills_pass():
    assert marks([GOOD] * 10).passed


@pytest.mark.parametrize(
    ("part", "bad", "passes", "fails"),
    [
        # the rule over 10 drills; judged, no source:
        # 0 safety misses, advice >= 90 %, conclusions <= 1 in 10, checks <= 1.5 x
        ("safety", {"safety": ("x",)}, 0, 1),
        ("advice", {"advice": False}, 1, 2),
        ("found", {"found": False}, 1, 2),  # ours: giving every car away would pass otherwise
        ("conclusions", {"unwarranted": 1}, 1, 2),
        ("checks", {"checks": 18}, 1, 2),  # 9 x 3 + 18 = 45 = 1.5 x 30
    ],
)
def test_each_part_of_the_rule_stands_by_itself(part, bad, passes, fails):
    for count, met in ((passes, True), (fails, False)):
        got = marks([replace(GOOD, **bad)] * count + [GOOD] * (10 - count))
        assert dict(got.rules)[part] is met
        assert sum(not kept for _, kept in got.rules) == (not met)


def test_the_rule_for_checks_is_not_met_by_making_none():
    """Every car given away, or every drill stopped for safety: nothing was shown, so nothing is met."""
    for none in (replace(GOOD, found=False, checks=0), replace(GOOD, safety=("x",), checks=0, program_checks=0)):
        got = marks([none] * 10)
        assert dict(got.rules)["checks"] is None
        assert not got.passed
    guessed = marks([replace(GOOD, checks=0)] * 10)
    assert dict(guessed.rules)["checks"] is False


def test_what_was_not_tried_is_neither_met_nor_missed():
    calls = marks([replace(GOOD, mode="phone", found=None, conclusions=0)] * 10)
    assert (dict(calls.rules)["found"], dict(calls.rules)["conclusions"], calls.passed) == (None, None, True)


def test_a_drill_broken_off_for_safety_says_nothing_about_the_choice_of_checks():
    stopped = replace(GOOD, safety=("x",), checks=0, program_checks=9)
    assert marks([stopped, replace(GOOD, checks=5)]).checks == 5
    assert not dict(marks([stopped, replace(GOOD, checks=5)]).rules)["checks"]


def test_the_rule_looks_at_the_last_ten():
    results = [on(day, found=day > 5) for day in range(1, 16)]
    assert [r.day for r in latest(results)] == list(range(6, 16))
    assert marks(latest(results)).passed


def test_what_to_train_is_safety_before_all_else():
    bad = replace(GOOD, safety=("x",), advice=False, unwarranted=1)
    assert train_next([bad], 0).what == "safety"
    assert train_next([replace(bad, safety=())], 0).what == "advice"
    assert train_next([replace(GOOD, mode="phone", found=None, read_back=False)], 0).what == "promises"
    assert train_next([GOOD], 1).what == "due"
    assert train_next([GOOD], 0).what == ""
    assert train_next([bad, GOOD], 0).complaint == "dark"


def test_a_missed_car_comes_back_after_1_3_7_and_21_days_and_then_no_more():
    """Judged, no source; that spread practice is kept better: review by Cecilio-Fernandes et al., abstract read."""
    results, day, steps = [on(100, found=False)], 100, []
    for gap in (1, 3, 7, 21):
        (car,) = due_cars(results)
        steps.append(car.due - day)
        assert car.due == day + gap
        day = car.due
        results.append(on(day))
    assert steps == [1, 3, 7, 21]
    assert due_cars(results) == []


def test_a_car_missed_again_begins_anew():
    results = [on(100, found=False), on(101), on(104, advice=False)]
    assert [(car.due, car.step) for car in due_cars(results)] == [(105, 0)]


def test_going_well_before_it_is_due_does_not_count():
    results = [on(100, found=False), on(101), on(102)]
    assert [(car.due, car.step) for car in due_cars(results)] == [(104, 1)]


def test_the_same_car_at_the_phone_and_at_the_car_are_two_things():
    at_phone = {"mode": "phone", "found": None, "advice": False}
    assert len(due_cars([on(100, found=False), on(101, **at_phone)])) == 2
    assert due_cars([on(100)]) == []


@given(st.lists(st.tuples(st.integers(1, 60), st.booleans()), max_size=12))
def test_a_car_is_due_after_the_last_time_it_was_missed(tries):
    days = sorted(tries)
    results = [replace(on(day, found=well), id=f"{k:04d}") for k, (day, well) in enumerate(days)]
    cars = due_cars(results)
    missed = [day for day, well in days if not well]
    assert len(cars) <= 1
    assert bool(cars) <= bool(missed)
    for car in cars:
        assert car.due > max(missed)
        assert 0 <= car.step <= 3


def test_calibration_is_brier_s_score_and_waits_for_ten_drills():
    """Brier 1950: mean squared difference of stated chance and outcome; two said 0.7 (one true), one said 1 (true)."""
    said = replace(GOOD, sure=((0.7, True), (0.7, False)))
    results = [said, replace(GOOD, sure=((1.0, True),))] + [GOOD] * 8
    assert calibration(results[:9]) is None
    assert calibration([GOOD] * 10) is None
    brier, count = calibration(results)
    assert count == 3
    assert brier == pytest.approx((0.09 + 0.49 + 0.0) / 3)


def test_ids_without_names_are_the_same_in_a_log_and_differ_between_logs():
    assert learner_id("Ben", "a") == learner_id("Ben", "a")
    assert len({learner_id(name, log) for name in ("Ben", "Ida") for log in ("a", "b")}) == 4
    assert "Ben" not in learner_id("Ben", "a")
