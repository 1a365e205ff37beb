"""What a step was worth by what was known then; minutes said beforehand; engine kept off; the worked example."""

import pytest

from comeback.engine.drill.drill import Drill, Mode
from comeback.engine.drill.hidden_car import hide_car
from comeback.engine.drill.safety import MissKind
from comeback.engine.drill.score import costliest, score
from comeback.engine.drill.worth import Verdict, worth
from comeback.engine.walk import steps
from comeback.kb.vocabulary import Disposition, EngineOff
from support.hidden_cars import car_hiding


def begun(knowledge, seed=None):
    """A drill after the danger signs, at a car without sparks."""
    car = hide_car(knowledge, seed) if seed is not None else car_hiding(knowledge, "fuse-out", spark="no")
    drill = Drill(knowledge, car, Mode.GUIDED)
    drill.look_at_signs()
    drill.tell(Disposition.GET_CLEAR)
    return drill


def test_the_program_s_own_step_is_the_same_and_costs_nothing_more(small):
    turn = begun(small).check("lamp-turns")
    assert (turn.worth.verdict, turn.worth.lost) == (Verdict.SAME, 0.0)


def test_a_check_that_tells_nothing_costs_its_own_minutes(small):
    drill = begun(small)
    drill.check("lamp-turns")
    turn = drill.check("lamp-turns")
    assert turn.worth.verdict is Verdict.COSTLIER
    assert turn.worth.lost == pytest.approx(turn.minutes)


def test_the_dear_check_first_costs_more_on_average_by_its_price(small):
    """By hand: volts 8.5 min beside the lamp seat's 1.5, and both point at one of the two causes."""
    turn = begun(small).check("volts")
    assert isinstance(turn.worth.instead, steps.MakeCheck)
    assert turn.worth.verdict is Verdict.COSTLIER
    assert 1.5 < turn.worth.lost < 8.5


def test_a_blind_repair_costs_more_than_the_check_that_would_have_told(small):
    drill = begun(small)
    turn = drill.repair("replace-fuse")
    assert turn.worth.verdict is Verdict.COSTLIER


def test_the_leading_repair_is_valued_as_the_planner_values_its_sequence(small):
    """After the findings that leave one cause the planner's expected minutes are those of that repair first."""
    walk = begun(small).walk
    walk = walk.imagine(walk.answers({"lamp-turns": "tight", "volts": "none"}, "", ""))
    assert isinstance(walk.step, steps.DoRepair)
    found = worth(walk, "repair", walk.step.repair, ())
    assert found.yours == pytest.approx(walk.step.expected_minutes, rel=0.01)


def test_a_shorter_and_warranted_path_is_never_shown_as_the_worse_one(small):
    """The right repair at once once it is established: shorter than the program's way, and so no step cost most."""
    drill = begun(small)
    drill.check("volts")
    drill.repair("replace-fuse")
    found = score(drill)
    assert found.warranted
    assert found.shorter == (found.minutes < found.program_minutes - 1.5)
    assert (costliest(drill) is None) is (found.shorter or drill.turns[0].worth.verdict is not Verdict.COSTLIER)


def test_what_a_repair_takes_is_said_before_and_holds_parts_and_proof(small):
    """By base.yaml: work 10, parts 3 at 60 an hour, proof: ladder 5, volts 3."""
    step = begun(small).as_step("repair", "replace-fuse")
    assert step.minutes == pytest.approx(10 + 3 + 5 + 3)


def test_what_a_check_takes_is_said_before_and_charged_after(small):
    """By base.yaml: ladder 5, volts 3; a minute and a half of handling as everywhere."""
    drill = begun(small)
    assert drill.as_step("check", "volts").minutes == pytest.approx(9.5)
    assert drill.check("volts").minutes == pytest.approx(9.5)


@pytest.fixture
def kept_off(small):
    """kept_off(until): the smallest knowledge, in which sparks keep the engine off and the voltage needs it to run."""

    def make(until):
        checks = dict(small.checks)
        checks["spark"] = checks["spark"].model_copy(update={"engine_off": {"yes": until}})
        checks["volts"] = checks["volts"].model_copy(update={"runs_engine": True})
        return small.model_copy(update={"checks": checks})

    return make


def sparking(knowledge):
    """A drill on the first car whose sparks were seen."""
    for seed in range(200):
        drill = begun(knowledge, seed)
        if drill.walk.view.results.get("spark") == "yes":
            return drill
    raise AssertionError("no car with sparks among the seeds")


def test_running_the_engine_against_a_danger_sign_is_a_safety_miss_with_its_sign(kept_off):
    drill = sparking(kept_off(EngineOff.REPAIRED))
    assert drill.check("volts") is None
    (miss,) = drill.misses
    assert (drill.ended, miss.hazard, miss.signs) == ("stopped for safety", MissKind.ENGINE, ("spark",))
    assert not drill.turns


def test_a_check_with_the_engine_off_is_no_miss(kept_off):
    drill = sparking(kept_off(EngineOff.REPAIRED))
    assert drill.check("lamp-turns") is not None
    assert not drill.misses


def test_a_repair_of_what_the_sign_points_at_may_be_proven_with_the_engine_running(kept_off):
    """The fuse shows in the sparks (base.yaml), so its repair lifts the sign."""
    drill = sparking(kept_off(EngineOff.REPAIRED))
    assert drill.repair("replace-fuse") is not None
    assert not drill.misses


def test_until_looked_at_the_engine_stays_off_only_while_something_can_be_looked_at(kept_off):
    drill = sparking(kept_off(EngineOff.LOOKED))
    step = drill.walk.step
    looks = isinstance(step, steps.MakeCheck) and step.check != "volts"
    assert (drill.check("volts") is None) is looks


def test_the_engine_may_run_where_no_sign_was_seen(kept_off):
    known = kept_off(EngineOff.REPAIRED)
    drill = next(d for d in (begun(known, seed) for seed in range(20)) if d.walk.view.results["spark"] == "no")
    assert drill.check("volts") is not None


@pytest.mark.parametrize("seed", range(4))
def test_a_worked_example_ends_with_the_complaint_gone(small, seed):
    path = hide_car(small, seed).path
    assert [step.after for step in path[:-1]] == [step.walk for step in path[1:]]
    assert isinstance(path[-1].after.step, steps.CloseCase)
