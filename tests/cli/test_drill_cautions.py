"""Cautions in a drill: read before what they belong to, asked again after a slip, explained after a miss.

All cases are invented.
"""

import pytest

from comeback.cli.drill import debrief
from comeback.cli.drill.at_car import AtCar
from comeback.cli.drill.loop import Drilling
from comeback.cli.look import Look, show
from comeback.engine.drill.drill import Drill, Mode
from support.hidden_cars import car_hiding


def typed_in(drilling, *lines):
    """What happens when these lines are typed."""
    for line in lines:
        show(drilling.answer(line), Look())
    return drilling


@pytest.fixture
def gate_reached(small):
    """A drill in the smallest knowledge, whose lamp seat is hot; the next reply is to the cautions of that check."""
    checks = {**small.checks, "lamp-turns": small.checks["lamp-turns"].model_copy(update={"cautions": ("hot-lamp",)})}
    known = small.model_copy(update={"checks": checks})
    drill = Drill(known, car_hiding(known, "fuse-out", spark="no"), Mode.GUIDED)
    drilling = Drilling(AtCar(drill, Look()), None)
    drill.look_at_signs()
    drill.tell(drill.best_advice())
    typed_in(drilling, "check lamp-turns")
    assert drilling.view.chosen == ("check", "lamp-turns")
    return drilling


@pytest.mark.parametrize("typed", ["y", "yes", "ok", "done"])
def test_confirming_cautions_without_reading_them_is_asked_again_once_and_then_stops_the_drill(gate_reached, typed):
    typed_in(gate_reached, typed)
    assert not gate_reached.place.drill.ended
    assert gate_reached.view.chosen == ("check", "lamp-turns")
    typed_in(gate_reached, typed)
    assert gate_reached.place.drill.ended == "stopped for safety"
    assert "Lamp seat" in gate_reached.place.drill.misses[0].text


def test_after_a_slip_of_the_finger_the_drill_goes_on(gate_reached):
    typed_in(gate_reached, "y")
    typed_in(gate_reached, "safe")
    assert len(gate_reached.place.drill.turns) == 1
    assert not gate_reached.place.drill.misses


def test_the_debrief_of_unread_cautions_tells_each_hazard_and_what_would_have_been_right(gate_reached, small):
    """All four parts of the caution as the knowledge has them: signal word, command, hazard, consequence."""
    for _ in "yy":
        typed_in(gate_reached, "y")
    drill = gate_reached.place.drill
    told = debrief.hazard_screen(drill, Look())
    text = " ".join(line.strip() for _, line in told)
    for name in drill.misses[0].cautions:
        caution = small.cautions[name]
        for part in (caution.word.value, caution.avoid, caution.hazard, caution.consequence):
            assert part in text
    assert "then type  safe" in "\n".join(line for _, line in told)
    assert len(told) <= 22


def test_the_debrief_of_signs_not_looked_at_names_those_that_were_there(small):
    """Sparks by base.yaml: with the caution of looking for them, and what to type."""
    drill = Drill(small, car_hiding(small, "fuse-out", spark="yes"), Mode.GUIDED)
    drill.check("volts")
    text = " ".join(line.strip() for _, line in debrief.hazard_screen(drill, Look()))
    assert "There was: Sparks: Sparks." in text
    assert "CAUTION  Let the lamp cool. A lamp is hot. It burns fingers." in text
    assert "Type  signs  first" in text or "Type signs first" in text


@pytest.mark.parametrize("typed", ["", "3", "what", "?", "r", "b"])
def test_anything_else_at_the_cautions_is_no_confirmation_and_no_miss(gate_reached, typed):
    typed_in(gate_reached, typed)
    assert not gate_reached.place.drill.ended
    assert not gate_reached.place.drill.turns


def test_read_cautions_let_the_check_be_made_and_are_not_asked_again(gate_reached):
    typed_in(gate_reached, "safe")
    assert len(gate_reached.place.drill.turns) == 1
    typed_in(gate_reached, "check lamp-turns")
    assert len(gate_reached.place.drill.turns) == 2


def test_why_at_the_cautions_tells_what_the_step_can_show_and_the_cautions_stay(gate_reached, capsys):
    typed_in(gate_reached, "w")
    assert "Lamp not screwed in" in capsys.readouterr().out
    assert gate_reached.view.chosen == ("check", "lamp-turns")
    assert gate_reached.place.drill.hints == 1
