"""What a danger sign leads to: the size of a leak, the oil light, the brakes. Common practice, no source."""

import pytest

from comeback.diagrams.words import sheet_of
from comeback.engine.charts.phone import phone_ladder
from comeback.engine.walk.steps import Advise, DangerScreen, MakeCheck
from comeback.engine.walk.walk import Walk, begin_walk
from comeback.kb.vocabulary import Audience, Disposition, EngineOff


def called(knowledge, service, complaint, answers, audience=Audience.PHONE):
    """A call answered as expected but for `answers`, to its end; the walk and all danger signs that were asked."""
    walk = begin_walk(knowledge, service, complaint, audience)
    asked = []
    while isinstance(walk.step, DangerScreen | MakeCheck):
        checks = walk.step.checks if isinstance(walk.step, DangerScreen) else (walk.step.check,)
        asked += checks if isinstance(walk.step, DangerScreen) else ()
        results = {check: answers.get(check, knowledge.checks[check].expected) for check in checks}
        walk = walk.imagine(walk.answers(results, "", ""))
    assert isinstance(walk.step, Advise)
    return walk, asked


def advised(knowledge, service, complaint, **answers):
    return called(knowledge, service, complaint, {k.replace("_", "-"): v for k, v in answers.items()})[0].step


COOLANT = [
    ({}, Disposition.COME_IN),
    ({"coolant_spot": "hand"}, Disposition.COME_IN),
    ({"coolant_spot": "large"}, Disposition.TOW),
    ({"heat_gauge": "hot"}, Disposition.TOW),
    ({"coolant_spot": None}, Disposition.TOW),
]
OIL = [
    ({}, Disposition.COME_IN),
    ({"oil_spot": "hand"}, Disposition.TOW),
    ({"oil_spot": "large"}, Disposition.TOW),
    ({"oil_lamp": "stays"}, Disposition.TOW),
    ({"oil_spot": None}, Disposition.TOW),
]

READ_BY_THE_CALLER = [
    ({}, Disposition.COME_IN),
    ({"oil_reading": "below"}, Disposition.TOW),
    ({"oil_reading": None}, Disposition.TOW),
    ({"oil_lamp": "stays"}, Disposition.TOW),
]
"""Oil between the marks of the dipstick may be driven; too little, not read, or the red light may not."""


@pytest.mark.parametrize(("answers", "advice"), READ_BY_THE_CALLER)
@pytest.mark.parametrize(("service", "onset"), [("oil-service", "at-once"), ("battery", "week-or-more")])
def test_with_the_yellow_oil_light_the_dipstick_decides(knowledge, service, onset, answers, advice):
    assert advised(knowledge, service, "oil-level-light", onset=onset, **answers).disposition is advice


BURNING = [
    ({}, Disposition.COME_IN),
    ({"burnt_what": "rubber"}, Disposition.TOW),
    ({"burnt_what": None}, Disposition.TOW),
]
"""Hot oil on the exhaust may be driven in; rubber, plastic or wiring that gets hot may catch fire."""


@pytest.mark.parametrize(("answers", "advice"), BURNING)
def test_what_a_burning_smell_is_like_decides(knowledge, answers, advice):
    assert advised(knowledge, "intake-cleaning", "burning-smell", **answers).disposition is advice


BATTERY_LIGHT = [
    ({}, Disposition.COME_IN),
    ({"headlights": "dim"}, Disposition.TOW),
    ({"headlights": None}, Disposition.TOW),
    ({"heat_gauge": "hot"}, Disposition.TOW),
]
"""With bright headlights the battery carries the car to the shop; once they are dim the engine may die in traffic."""


@pytest.mark.parametrize(("answers", "advice"), BATTERY_LIGHT)
def test_with_the_battery_light_the_headlights_decide(knowledge, answers, advice):
    told = {"belt_parts": "alternator", "onset": "at-once"} | answers
    assert advised(knowledge, "belt", "battery-lamp", **told).disposition is advice


@pytest.mark.parametrize(("answers", "advice"), COOLANT)
def test_a_coolant_leak_drives_by_its_size_and_the_gauge(knowledge, answers, advice):
    assert advised(knowledge, "coolant-change", "coolant-leak", **answers).disposition is advice


@pytest.mark.parametrize(("answers", "advice"), OIL)
@pytest.mark.parametrize("onset", ["week-or-more", "at-once"])
def test_an_oil_leak_drives_by_its_size_and_the_light(knowledge, onset, answers, advice):
    assert advised(knowledge, "oil-service", "oil-leak", onset=onset, **answers).disposition is advice


@pytest.mark.parametrize(
    ("complaint", "fluid", "asked"),
    [
        ("fluid-leak", "oil", {"oil-spot", "oil-lamp"}),
        ("fluid-leak", "coolant", {"coolant-spot", "heat-gauge"}),
        ("burning-smell", "oil", {"oil-spot", "oil-lamp"}),
        ("heat-swings", "coolant", {"coolant-spot", "heat-gauge"}),
    ],
)
def test_wherever_a_leak_is_ticked_its_size_and_light_are_asked(knowledge, complaint, fluid, asked):
    walk, signs = called(knowledge, "oil-service", complaint, {"drip-kind": fluid})
    assert asked == set(knowledge.follow_ups({"drip-kind": fluid}))
    assert asked == set(knowledge.follow_ups({"drip-kind": fluid}))
    assert asked <= set(signs)
    assert walk.step.floor is Disposition.COME_IN


def test_nobody_is_asked_for_the_size_of_clear_water(knowledge):
    walk, signs = called(knowledge, "oil-service", "fluid-leak", {"drip-kind": "water"})
    assert not {"oil-spot", "coolant-spot"} & set(signs)
    assert not {"oil-spot", "coolant-spot"} & {answer.check for answer in walk.case.answers}


def test_what_needs_a_dead_engine_is_asked_only_of_one(knowledge):
    """Why the start failed is no question to somebody whose oil drips."""
    view = called(knowledge, "oil-service", "oil-leak", {})[0].view
    for check in view.askable():
        assert knowledge.checks["start"].expected in knowledge.checks[check].needs.get("start", ("starts",)), check


def test_what_the_complaint_itself_says_is_not_taken_as_if_it_were_not_so(knowledge):
    """A few drops of oil that get worse are no reason to run from the car."""
    assert advised(knowledge, "oil-service", "oil-leak", course="worse").disposition <= Disposition.TOW


def test_a_size_that_nobody_asked_yet_counts_as_the_worse_one(knowledge):
    """A call that stops after the first danger signs leaves the caller with the safe advice."""
    walk = begin_walk(knowledge, "oil-service", "fluid-leak", Audience.PHONE)
    walk = walk.imagine(walk.answers({"drip-kind": "oil"}, "", ""))
    assert walk.advice().disposition is Disposition.TOW


def test_a_spot_that_turns_out_to_be_water_is_no_danger_whatever_its_size(knowledge):
    walk, _ = called(knowledge, "oil-service", "fluid-leak", {"drip-kind": "oil", "oil-spot": "large"})
    assert walk.step.floor is Disposition.TOW
    assert walk.imagine(walk.answers({"drip-kind": "water"}, "", "")).advice().floor is Disposition.WATCH


@pytest.mark.parametrize(
    ("service", "complaint", "words"),
    [
        ("oil-service", "oil-leak", ["dipstick", "marks"]),
        ("coolant-change", "coolant-leak", ["cool down", "Never open"]),
    ],
)
def test_the_level_is_read_before_a_leaking_car_is_driven(knowledge, service, complaint, words):
    assert all(word in " ".join(advised(knowledge, service, complaint).first) for word in words)
    walk = called(knowledge, service, complaint, {})[0]
    assert walk.advice().first == walk.step.first
    spot = "oil_spot" if service == "oil-service" else "coolant_spot"
    assert advised(knowledge, service, complaint, **{spot: "large"}).first == ()


@pytest.mark.parametrize(
    ("service", "complaint", "sign", "word"),
    [
        ("oil-service", "oil-leak", "oil-spot", "dipstick"),
        ("coolant-change", "coolant-leak", "coolant-spot", "Never open"),
    ],
)
def test_paper_asks_for_the_size_too_and_says_what_is_read_before_the_drive(knowledge, service, complaint, sign, word):
    ladder = phone_ladder(knowledge, service, complaint)
    assert ladder.advice is Disposition.COME_IN
    assert sign in {row.check for row in ladder.stations[0].rows}
    spoken = {one.name: " ".join(one.say) for one in sheet_of(ladder, knowledge).spoken}
    assert word in spoken[knowledge.dispositions[Disposition.COME_IN].name]
    assert word not in spoken[knowledge.dispositions[Disposition.TOW].name]


@pytest.mark.parametrize("complaint", ["no-crank", "no-start-cranks"])
@pytest.mark.parametrize("service", ["oil-service", "intake-cleaning", "battery"])
def test_a_dead_engine_after_work_on_its_oil_is_asked_about_the_oil_light(knowledge, complaint, service):
    walk, signs = called(knowledge, service, complaint, {"oil-lamp-before": "was-on"})
    assert ("oil-lamp-before" in signs) == (service != "battery")
    if service != "battery":
        assert walk.step.disposition is Disposition.TOW
        assert "oil-lamp-before" in walk.step.flags
        in_bay = Walk(knowledge, walk.events, Audience.BAY).view
        assert in_bay.engine_off["oil-lamp-before"] is EngineOff.REPAIRED


def test_every_complaint_of_a_dead_or_stalling_engine_asks_about_the_red_oil_light(knowledge):
    for complaint in knowledge.complaints.values():
        dead = complaint.reports.get("start") in ("cranks-only", "no-crank")
        dies = "stalls" in complaint.reports
        if dead or dies:
            asked = [str(knowledge.checks[sign].say) for sign in complaint.red_flags]
            assert any("red oil light" in say for say in asked), complaint.id


@pytest.mark.parametrize("result", ["hard", "lamp", "soft"])
@pytest.mark.parametrize("complaint", ["something-else", "rough-idle", "hiss", "wheels-steering"])
def test_brakes_that_may_fail_are_not_driven_whatever_the_complaint(knowledge, complaint, result):
    assert advised(knowledge, "battery", complaint, brake_pedal=result).disposition >= Disposition.TOW


@pytest.mark.parametrize("complaint", ["hesitation", "rough-idle", "engine-light", "stalls"])
def test_an_engine_that_stops_at_the_lights_comes_in_today_even_if_it_learns_again(knowledge, complaint):
    told = {"stalls": "at-stops", "onset": "at-once", "clock": "reset", "course": "better"}
    assert called(knowledge, "battery", complaint, told)[0].step.disposition >= Disposition.COME_IN


@pytest.mark.parametrize("service", ["plugs-coils", "oil-service"])
def test_a_burning_smell_comes_in_today_and_no_more_than_that_if_it_passes(knowledge, service):
    step = advised(knowledge, service, "burning-smell", onset="at-once", course="better")
    assert step.disposition is Disposition.COME_IN


def test_chuffing_is_not_driven_after_new_spark_plugs_but_is_after_an_oil_change(knowledge):
    assert advised(knowledge, "plugs-coils", "pop-noise", onset="at-once").disposition is Disposition.TOW
    assert advised(knowledge, "oil-service", "pop-noise", onset="at-once").disposition < Disposition.TOW


@pytest.mark.parametrize(("feel", "least"), [("slight", Disposition.COME_IN), ("changed", Disposition.TOW)])
def test_a_slight_pull_is_driven_in_after_a_look_at_the_lug_nuts(knowledge, feel, least):
    step = advised(knowledge, "oil-service", "something-else", steer_feel=feel)
    assert step.floor is least
    assert any("lug nuts" in line for line in step.first) is (feel == "slight")
