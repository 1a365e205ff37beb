"""Cautions in a drill: read before what they belong to, asked again after a slip, explained after a miss.

All cases are invented.
"""

import pytest

from comeback.cli.drill import hazards as drill_hazards
from comeback.cli.drill.loop import Drilling
from comeback.cli.look import Look
from comeback.engine.drill.drill import Drill, Mode
from comeback.engine.drill.hidden_car import hide_car


@pytest.fixture
def gate_reached(knowledge):
    """A drill on the shipped knowledge whose next reply is to the cautions of a check."""
    car = hide_car(knowledge, 5, "oil-service")
    drill = Drill(knowledge, car, Mode.FREE)
    drilling = Drilling(drill, None, Look(), quiet=True)
    drill.look_at_signs()
    drill.tell(drill.best_advice())
    drilling._respond("check drain-plug")
    assert drilling.gate == ("check", "drain-plug")
    return drilling


@pytest.mark.parametrize("typed", ["y", "yes", "ok", "done"])
def test_confirming_cautions_without_reading_them_is_asked_again_once_and_then_stops_the_drill(gate_reached, typed):
    gate_reached._respond(typed)
    assert not gate_reached.drill.ended
    assert gate_reached.gate == ("check", "drain-plug")
    gate_reached._respond(typed)
    assert gate_reached.drill.ended == "stopped for safety"
    assert "Drain plug" in gate_reached.drill.safety[0]


def test_after_a_slip_of_the_finger_the_drill_goes_on(gate_reached):
    gate_reached._respond("y")
    gate_reached._respond("safe")
    assert len(gate_reached.drill.turns) == 1
    assert not gate_reached.drill.misses


def test_the_debrief_of_unread_cautions_tells_each_hazard_and_what_would_have_been_right(gate_reached, knowledge):
    """All four parts of the caution as the knowledge has them: signal word, command, hazard, consequence."""
    for _ in "yy":
        gate_reached._respond("y")
    drill = gate_reached.drill
    (told,) = drill_hazards.screen(drill, Look())
    text = " ".join(line.strip() for _, line in told)
    for name in drill.misses[0].cautions:
        caution = knowledge.cautions[name]
        for part in (caution.word.value, caution.avoid, caution.hazard, caution.consequence):
            assert part in text
    assert "then type  safe" in "\n".join(line for _, line in told)
    assert len(told) <= 22


def test_the_debrief_of_signs_not_looked_at_names_those_that_were_there(small):
    """Sparks by base.yaml: with the caution of looking for them, and what to type."""
    for seed in range(60):
        drill = Drill(small, hide_car(small, seed), Mode.FREE)
        if drill.work.person.car.result("spark") == "yes":
            break
    drill.check("volts")
    text = " ".join(line.strip() for _, line in drill_hazards.screen(drill, Look())[0])
    assert "There was: Sparks: Sparks." in text
    assert "CAUTION  Let the lamp cool. A lamp is hot. It burns fingers." in text
    assert "Type  signs  first" in text or "Type signs first" in text


@pytest.mark.parametrize("typed", ["", "3", "what", "?", "r", "b"])
def test_anything_else_at_the_cautions_is_no_confirmation_and_no_miss(gate_reached, typed):
    gate_reached._respond(typed)
    assert not gate_reached.drill.ended
    assert not gate_reached.drill.turns


def test_read_cautions_let_the_check_be_made_and_are_not_asked_again(gate_reached):
    gate_reached._respond("safe")
    assert len(gate_reached.drill.turns) == 1
    gate_reached._respond("check drain-plug")
    assert len(gate_reached.drill.turns) == 2
