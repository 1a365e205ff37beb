"""Drills: safety stops, conclusions weighed apart from efficiency, the program's path as the measure."""

import pytest

from comeback.engine.drill.drill import Drill, Mode
from comeback.engine.drill.hidden_car import hide_car
from comeback.engine.drill.score import costliest, score
from comeback.engine.drill.worth import is_step, still_open
from comeback.engine.errors import UnknownEntry
from comeback.engine.walk import steps
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience, Disposition
from support.hidden_cars import car_hiding


@pytest.fixture
def drill(small):
    """A drill at a car with a blown fuse and no sparks."""
    return Drill(small, car_hiding(small, "fuse-out", spark="no"), Mode.GUIDED)


def follow(drill):
    """Do what the program did."""
    for played in drill.car.path:
        match played.step:
            case steps.DangerScreen():
                drill.look_at_signs()
                drill.tell(drill.best_advice())
            case steps.MakeCheck(check=check):
                drill.check(check)
            case steps.ReadPanel(checks=checks):
                drill.check(checks[0])
            case steps.DoRepair(repair=repair):
                drill.repair(repair)


@pytest.mark.parametrize("seed", range(8))
def test_whoever_does_what_the_program_does_parts_from_it_nowhere(small, seed):
    drill = Drill(small, hide_car(small, seed), Mode.GUIDED)
    follow(drill)
    found = score(drill)
    assert drill.ended == "complaint gone"
    assert costliest(drill) is None
    assert found.found
    assert found.minutes == pytest.approx(found.program_minutes)
    assert found.checks == found.program_checks
    assert found.too_soon == 0


def test_the_same_seed_hides_the_same_car(small):
    assert hide_car(small, 5).comeback == hide_car(small, 5).comeback
    assert len({hide_car(small, seed).comeback.seed for seed in range(6)}) == 6


def test_no_car_is_hidden_where_there_is_none(small, monkeypatch):
    monkeypatch.setattr("comeback.engine.rehearsal.simulation.MOST_DRAWS", 2)
    with pytest.raises(UnknownEntry, match="Try another"):
        hide_car(small, 1, complaint="nothing")


@pytest.mark.parametrize("act", ["check", "repair"])
def test_working_before_the_danger_signs_were_looked_at_stops_the_drill(drill, act):
    assert getattr(drill, act)("lamp-turns" if act == "check" else "replace-fuse") is None
    assert drill.ended == "stopped for safety"
    assert score(drill).safety == ("danger signs were not looked at first",)
    assert not drill.turns


def test_advice_below_the_floor_stops_the_drill_and_advice_above_does_not(small):
    for seed in range(60):
        drill = Drill(small, hide_car(small, seed), Mode.GUIDED)
        raised = drill.look_at_signs() == {"spark": "yes"}
        drill.tell(Disposition.TOW)
        assert bool(drill.ended) is raised  # sparks: get clear, by base.yaml
        if raised:
            return
    raise AssertionError("no car with sparks among the seeds")


def test_a_check_made_twice_tells_nothing_the_second_time(drill):
    drill.look_at_signs()
    first, second = drill.check("lamp-turns"), drill.check("lamp-turns")
    assert (first.redundant, second.redundant) == (False, True)
    assert score(drill).redundant == 1


def test_a_conclusion_is_unwarranted_while_another_cause_is_still_1_in_5(small):
    """After "dark": about 8 x 0.9 to 4 x 0.99 by base.yaml, so either leaves the other above 20 %."""
    walk = begin_walk(small, "lamp-change", "dark", Audience.BAY)
    assert [cause for cause, _ in still_open(walk, ("fuse-out",))] == ["lamp-loose"]
    assert [cause for cause, _ in still_open(walk, ("lamp-loose",))] == ["fuse-out"]
    assert still_open(walk, ("lamp-loose", "fuse-out")) == ()
    known = walk.imagine(walk.answers({"volts": "none", "lamp-turns": "tight"}, "", ""))
    assert still_open(known, ("fuse-out",)) == ()
    assert still_open(known, ("lamp-loose",)) != ()


def test_a_repair_while_another_cause_is_likely_is_counted_and_does_not_end_the_drill(drill):
    """The blown fuse is still at least 1 in 5 when the lamp is screwed in (base.yaml: 8 and 4 per 1000)."""
    drill.look_at_signs()
    turn = drill.repair("screw-in-lamp")
    assert [cause for cause, _ in turn.open] == ["fuse-out"]
    assert not drill.ended
    found = score(drill)
    assert (found.repairs, found.too_soon) == (1, 1)
    assert found.checks == 0  # efficiency is another matter


def test_a_hint_names_the_signs_first_then_leaves_the_word_to_the_walk_and_is_counted(small):
    drill = Drill(small, car_hiding(small, "fuse-out", spark="no"), Mode.GUIDED)
    assert drill.hint() == "Look at the danger signs."
    drill.look_at_signs()
    assert drill.hint() == ""
    assert score(drill).hints == 2


def test_reading_one_family_of_codes_is_reading_the_panel(knowledge):
    codes = [name for name, check in knowledge.checks.items() if check.panel == "codes"]
    drills = (Drill(knowledge, hide_car(knowledge, seed), Mode.GUIDED) for seed in range(20))
    drill = next(one for one in drills if one.look_at_signs() is not None and not one.walk.view.engine_off)
    turn = drill.check(codes[0])
    assert set(turn.results) == set(codes)
    assert is_step(turn.kind, turn.name, turn.checks, steps.ReadPanel("codes", tuple(codes), 1.0, 1.0))
    assert not is_step(turn.kind, turn.name, turn.checks, steps.DoRepair("anything", 1.0, 1.0, 1.0, ()))
