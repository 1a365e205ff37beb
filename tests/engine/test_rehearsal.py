"""Rehearsed comebacks: minutes by hand, safety by rules of its own, ends told apart."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from comeback.engine.rehearsal import fixed_orders
from comeback.engine.rehearsal.figures import figures
from comeback.engine.rehearsal.rehearsal import (
    CHECKLIST,
    ENDS,
    FIXED,
    GUIDED,
    HANDED_OVER,
    ORDER,
    RIGHT_SPECIALIST,
    UNFINISHED,
    WAYS,
    WRONGLY,
    Rehearsal,
    guided_end,
    known_minutes,
    unsafe_advice,
)
from comeback.engine.rehearsal.simulated_walk import Gone, Memory, check_minutes, work_minutes
from comeback.engine.rehearsal.simulation import Car, Chance, Comeback, Person, Slack, draw_comeback
from comeback.engine.walk import steps
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience, Disposition


def fuse_car(small, **results):
    """A seed for which a car with a blown fuse gives these results, and is cured by the first replacement."""
    for seed in range(500):
        car = Car(small, Chance(seed), {"fuse-out"})
        if all(car.result(check) == result for check, result in results.items()):
            car.repair("replace-fuse")
            if not car.present and car.result("light") == "lit" and car.result("volts") == "present":
                return Comeback("lamp-change", "dark", ("fuse-out",), (), seed)
    raise AssertionError("no such car")


@pytest.fixture(scope="module")
def calm_car(small):
    return fuse_car(small, light="dark", volts="none", spark="no", **{"lamp-turns": "tight"})


def outcome(row, way):
    return next(o for o in row.outcomes if o.way == way)


def test_minutes_are_work_parts_set_ups_and_proof(small, calm_car):
    """By hand from base.yaml: work 10, parts 3 at 60 an hour is 3, proof 3, ladder 5: 21."""
    assert known_minutes(Car(small, Chance(calm_car.seed), {"fuse-out"}), "dark") == pytest.approx(21)
    walk = begin_walk(small, "lamp-change", "dark", Audience.BAY)
    assert work_minutes(walk, "replace-fuse") == pytest.approx(13)
    assert check_minutes(walk, ("volts",)) == pytest.approx(1.5 + 3 + 5)  # handling, work, ladder


def test_repairs_by_p_over_c_pay_each_repair_and_proof_until_the_complaint_is_gone(small, calm_car):
    """By hand: lamp first (0.0072 / 10.0 beats 0.0040 / 21): 9 + 1 + 0.5, then fuse 13 + 3 + 5 + 0.5: 32."""
    found = outcome(Rehearsal(small).run(calm_car), ORDER)
    assert (found.end, found.repairs, found.needless) == (FIXED, 2, 1)
    assert found.minutes == pytest.approx(32)


def test_a_check_list_is_followed_in_its_order_and_repairs_what_it_finds(small, calm_car):
    """By hand: sign (done on the phone), lamp seat 2.5 (tight), volts 9.5 (none), fuse 13 + 3 + 0.5, ladder stands."""
    found = outcome(Rehearsal(small).run(calm_car), CHECKLIST)
    assert (found.end, found.repairs, found.needless) == (FIXED, 1, 0)
    assert found.minutes == pytest.approx(2.5 + 9.5 + 13 + 3 + 0.5)


def test_the_guided_walk_fixes_the_car_and_knows_no_less_than_the_causes_need(small, calm_car):
    row = Rehearsal(small).run(calm_car)
    found = outcome(row, GUIDED)
    assert found.end == FIXED
    assert found.minutes >= row.known
    assert row.call.unsafe == ()
    assert row.call.advice is not None


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6), wrong=st.floats(0, 0.4), unknown=st.floats(0, 0.5))
def test_no_call_is_advised_unsafely_whatever_people_answer(small, seed, wrong, unknown):
    slack = Slack(wrong, unknown)
    row = Rehearsal(small, slack, slack).run(draw_comeback(small, seed))
    assert row.call.unsafe == ()
    assert {o.way for o in row.outcomes} == set(WAYS)
    assert all(o.end in ENDS and o.minutes >= 0 for o in row.outcomes)


def test_the_same_comeback_is_rehearsed_the_same_with_and_without_memory(knowledge):
    slack = Slack(0.05, 0.1)
    cars = [draw_comeback(knowledge, seed) for seed in (3, 4)]
    together = Rehearsal(knowledge, slack, slack)
    rows = [together.run(car) for car in (*cars, *cars)]
    assert rows[:2] == rows[2:]
    assert rows[1] == Rehearsal(knowledge, slack, slack).run(cars[1])
    assert all(row.call.unsafe == () for row in rows)
    assert together.memory.met > 0


def answered(small, **results):
    walk = begin_walk(small, "lamp-change", "dark", Audience.PHONE)
    return walk.imagine(walk.answers(results, "", ""))


@pytest.mark.parametrize(
    ("spark", "advice", "unsafe"),
    [
        ("yes", Disposition.TOW, True),
        ("yes", Disposition.GET_CLEAR, False),
        (None, Disposition.COME_IN, True),  # don't know counts as the worse answer
        (None, Disposition.GET_CLEAR, False),
        ("no", Disposition.WATCH, False),
        ("no", None, True),
    ],
)
def test_unsafe_advice_is_found(small, spark, advice, unsafe):
    car = Comeback("lamp-change", "dark", ("lamp-loose",), (), 1)
    assert bool(unsafe_advice(answered(small, spark=spark), car, advice)) is unsafe


def test_advice_below_the_need_of_a_cause_whose_sign_was_answered_is_unsafe_even_on_the_floor(small):
    """A sign with a mild floor, a cause that shows in it and must not be driven."""
    mild = small.checks["spark"].model_copy(update={"red_flag": {"yes": Disposition.BOOK}})
    known = small.model_copy(update={"checks": {**small.checks, "spark": mild}})
    walk = begin_walk(known, "lamp-change", "dark", Audience.PHONE)
    walk = walk.imagine(walk.answers({"spark": "yes"}, "", ""))
    fuse = Comeback("lamp-change", "dark", ("fuse-out",), (), 1)
    lamp = Comeback("lamp-change", "dark", ("lamp-loose",), (), 1)
    assert unsafe_advice(walk, fuse, Disposition.BOOK)
    assert not unsafe_advice(walk, fuse, Disposition.TOW)
    assert not unsafe_advice(walk, lamp, Disposition.BOOK)


def test_ends_are_told_apart(small):
    walk = begin_walk(small, "lamp-change", "dark", Audience.BAY)
    car, behind = Car(small, Chance(1), {"fuse-out"}), frozenset({"fuse-out"})

    def end(step, target=behind):
        return guided_end(Gone(walk, step, 0.0, 0), car, target)

    close = steps.CloseCase("dark", (), (), True)
    assert end(close) == WRONGLY
    assert end(close, frozenset({"lamp-loose"})) == FIXED
    assert end(steps.HandOver("no")) == HANDED_OVER
    assert end(steps.HandOver("no", "replace-fuse")) == RIGHT_SPECIALIST
    assert end(steps.HandOver("no", "screw-in-lamp")) == HANDED_OVER
    assert end(steps.MakeCheck("light", 1, 1, (1.0,))) == UNFINISHED


def test_a_misread_finding_that_excludes_another_is_made_again(small):
    person = Person(Car(small, Chance(3), {"fuse-out"}), "ann", Slack(wrong=1.0))
    said = person.answer("volts")
    walk = answered(small, volts=said, spark="no")
    from comeback.engine.rehearsal.simulated_walk import respond

    step = steps.TakeOneBack(("volts", "spark"), (said, person.car.result("spark")), (4, 4))
    _, after = respond(walk, step, person)
    assert after.case.answer("volts") is None
    assert person.answer("volts") == person.car.result("volts")


def test_memory_keeps_the_steps_of_one_complaint_only(small):
    memory = Memory()
    walk = begin_walk(small, "lamp-change", "dark", Audience.BAY)
    assert memory.step(walk) == memory.step(begin_walk(small, "lamp-change", "dark", Audience.BAY))
    assert (memory.asked, memory.met) == (2, 1)
    memory.step(begin_walk(small, "lamp-change", "dark", Audience.PHONE))
    assert memory.met == 1


def test_what_is_asked_after_the_advice_is_worked_out_once_and_is_no_step(small):
    memory = Memory()
    walk = begin_walk(small, "lamp-change", "dark", Audience.PHONE)
    assert memory.asked_after_advice(walk) is None
    assert memory.asked_after_advice(walk) is None
    assert (memory.asked, memory.met) == (2, 1), "nothing to ask is remembered, too"
    assert memory.step(walk) is not None


def test_figures_count_every_comeback_once(small):
    rehearsal = Rehearsal(small, Slack(0.1, 0.1), Slack(0.1, 0.1))
    rows = [rehearsal.run(draw_comeback(small, seed)) for seed in range(20)]
    found = figures(small, rows)
    assert found == figures(small, rows)
    assert found.walks == 20
    assert sum(found.advice.values()) == 20
    for way in found.ways:
        assert sum(way.ends.values()) == 20
        assert way.saved == pytest.approx(way.mean - found.ways[0].mean)


def test_calls_that_a_true_danger_sign_makes_urgent_are_told_apart(small, calm_car):
    """A car that may be driven: its people sent away for nothing; sent away with a sign that asks for it."""
    row = Rehearsal(small).run(calm_car)
    row = replace(row, comeback=replace(calm_car, causes=("lamp-loose",)))
    calls = [
        replace(row.call, advice=Disposition.GET_CLEAR, starts=True, signs_allow=allow)
        for allow in (Disposition.WATCH, Disposition.GET_CLEAR)
    ]
    found = figures(small, [replace(row, call=call) for call in calls])
    assert (found.much_harsher, found.signed) == (2, 1)


def test_no_repair_order_is_made_up_when_findings_exclude_each_other(small):
    lists = fixed_orders.Lists()

    def fail(walk):
        from comeback.engine.errors import ImpossibleFindings

        raise ImpossibleFindings(("light",))

    walk = begin_walk(small, "lamp-change", "dark", Audience.BAY)
    assert lists.get("repairs", walk, fail) == ()


def test_screens_and_call_backs_are_counted(small, calm_car):
    """The seat of the lamp, here known to the customer only and the first thing to ask, is one call back."""
    opening = small.complaints["dark"].model_copy(update={"opening": ("lamp-turns",)})
    check = small.checks["lamp-turns"].model_copy(update={"asks_customer": True})
    asks = small.model_copy(
        update={"checks": {**small.checks, "lamp-turns": check}, "complaints": {"dark": opening}, "version": "asks"}
    )
    row = Rehearsal(asks).run(calm_car)
    found = figures(asks, [row])
    assert (outcome(row, GUIDED).call_backs, found.call_backs) == (1, 100)
    assert found.ways[0].steps_ninety == outcome(row, GUIDED).steps
    assert figures(small, [Rehearsal(small).run(calm_car)]).call_backs == 0
