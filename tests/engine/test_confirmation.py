"""A look at the cause itself comes before long work. The orders are common practice, no source."""

import pytest

from comeback.engine.rehearsal.simulated_walk import Memory, go_on, take_over
from comeback.engine.rehearsal.simulation import Chance, Person
from comeback.engine.walk.confirmation import SMALL_SHARE
from comeback.engine.walk.steps import DoRepair
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience
from support.own_comebacks import BEGAN, HELD_OUT, USUAL_CAR, FactsCar, read_own_comebacks

COMEBACKS = read_own_comebacks(*HELD_OUT)


def repairs(knowledge, cause, service, complaint, facts):
    """Each repair that the bay does, in order, with the checks known by then."""
    car, done = FactsCar(knowledge, Chance(0), {cause}, USUAL_CAR, facts=BEGAN | facts), []
    call = go_on(begin_walk(knowledge, service, complaint, Audience.PHONE), Person(car, "caller"), Memory())

    def watch(walk, step, minutes):
        if isinstance(step, DoRepair):
            done.append((step.repair, {answer.check for answer in walk.case.answers}))

    go_on(take_over(call.walk), Person(car, "technician"), Memory(), watch)
    return done


def written(knowledge, name):
    mapped = COMEBACKS[name].mapped
    return repairs(knowledge, COMEBACKS[name].cause, mapped["service"], mapped["complaint"], mapped["facts"])


@pytest.mark.parametrize(
    ("name", "look", "repair"),
    [
        ("timing_one_tooth", "timing-marks", "reset-timing"),
        ("purge_floods_after_fill", "purge-vacuum", "replace-purge-valve"),
        ("maf_poor_part", "air-load", "replace-maf"),
    ],
)
def test_the_part_is_looked_at_before_long_work_on_it(knowledge, name, look, repair):
    first, known = written(knowledge, name)[0]
    assert first == repair
    assert look in known
    entry = knowledge.repairs[repair]
    work = entry.minutes + entry.parts / knowledge.settings.rate_per_hour * 60
    assert knowledge.checks[look].minutes <= SMALL_SHARE * work


@pytest.mark.parametrize(
    ("cause", "complaint", "facts", "repair"),
    [
        (
            "st-wrong",
            "starter-grinds",
            {"crank-speed": "grinds", "part-numbers": "starter-differs"},
            "fit-right-starter",
        ),
        (
            "belt-wrong-length",
            "belt-noise",
            {"noise": "squeal", "tensioner-look": "at-stop", "part-numbers": "belt-differs"},
            "replace-belt",
        ),
    ],
)
def test_numbers_are_compared_before_a_part_is_replaced_for_being_wrong(knowledge, cause, complaint, facts, repair):
    known = dict(repairs(knowledge, cause, "belt", complaint, facts))[repair]
    assert "part-numbers" in known


@pytest.mark.parametrize(
    ("name", "first"),
    [
        ("valves_gasket_pinched", "replace-manifold-gasket"),
        ("o2_crossed", "latch-o2-plug"),
        ("belt_squeal_cold", "replace-pulley"),
        ("starter_shim", "set-starter-gap"),
        ("battery_draw", "find-draw"),
    ],
)
def test_the_first_repair_is_the_right_one(knowledge, name, first):
    assert written(knowledge, name)[0][0] == first


def test_fuel_that_drips_at_the_rear_is_not_looked_for_under_the_hood(knowledge):
    first, known = written(knowledge, "filter_line_weeps")[0]
    assert first == "latch-filter-line"
    assert "filter-fit" in known
    assert "injector-seats" not in known
