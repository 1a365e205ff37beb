"""`comeback drill` at a terminal: keys, and the size of every screen."""

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from comeback.cli import exit_codes
from comeback.cli.drill import debrief, watch
from comeback.cli.drill.at_car import AtCar, View, advice_lines, result_lines
from comeback.cli.drill.loop import Drilling, gate_lines, listing_lines
from comeback.cli.look import Look
from comeback.cli.readers import TerminalReader
from comeback.engine.drill.drill import Drill, Mode
from comeback.engine.drill.hidden_car import hide_car
from comeback.engine.drill.record import new_drill
from comeback.engine.drill.safety import MissKind
from comeback.engine.drill.score import score
from comeback.kb.vocabulary import EngineOff
from support.hidden_cars import car_hiding

SCREEN = 24


@pytest.fixture
def by_keys(small, capsys):
    """by_keys(keys) -> (exit code, the drill, what was recorded)."""

    def go(keys, mode=Mode.GUIDED):
        kept = []
        with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
            pipe.send_text(keys)
            place = AtCar(Drill(small, car_hiding(small, "fuse-out", spark="no"), mode), Look())
            drilling = Drilling(place, TerminalReader(), keep=lambda kind, data: kept.append(kind))
            code = drilling.run()
        return code, place.drill, kept

    return go


def test_at_a_terminal_a_check_is_made_by_its_number_and_nothing_is_asked_before(by_keys):
    code, drill, kept = by_keys("danger\r4\rlamp seat\r1\r\x04")
    assert code == exit_codes.PAUSED
    assert kept == ["signs", "told", "checked"]
    assert drill.turns[0].name == "lamp-turns"


def test_b_leaves_a_list_and_ctrl_c_the_drill(by_keys):
    code, drill, kept = by_keys("signs\r4\rlamp\rb\r1\r\x03")
    assert code == exit_codes.INTERRUPTED
    assert kept == ["signs", "told"]
    assert not drill.turns


def fits(screens):
    for screen in screens:
        assert len(screen) <= SCREEN - 2, screen
        assert max(len(line) for _, line in screen) < 80


@pytest.mark.parametrize("seed", range(1, 5))
def test_every_screen_fits_80_columns_and_24_lines(knowledge, seed):
    """Two lines are kept for the key line and the answer; whatever car the seed draws."""
    drill, look = Drill(knowledge, hide_car(knowledge, seed), Mode.GUIDED), Look()
    place = AtCar(drill, look)
    drilling = Drilling(place, None, name="guided, seed 1   (K7RT)", begun=True)
    shown = [[*place.start("guided, seed 1   (K7RT)"), *place.asks(View())], *watch.screens(drill, look)]
    drill.look_at_signs()
    shown += [place.review(), advice_lines(drill, "What?", look)]
    drill.tell(drill.best_advice())
    found = [("repair", name) for name in list(knowledge.repairs)[:40]]
    shown += [listing_lines(place, tuple(found[k : k + 9])) for k in range(0, 36, 9)]
    shown += [gate_lines(place, entry) for entry in found]
    for name in list(knowledge.checks)[:60:6]:
        if drill.makes_sense(name) and not drill.ended:
            shown.append(gate_lines(place, ("check", name)))
            turn = drill.check(name)
            if turn is not None:
                shown += [result_lines(drill, turn, look), place.review()]
    shown.append(drilling.first())
    shown += [screen for screen in debrief.screens(drill, score(drill), look, "K7RT") if screen]
    shown.append([("plain", line) for line in place.help()])
    fits(shown)


@pytest.mark.parametrize("hazard", list(MissKind))
@pytest.mark.parametrize("mode", [Mode.GUIDED, Mode.PHONE])
def test_the_debrief_of_every_safety_stop_fits_and_says_what_would_have_been_right(knowledge, hazard, mode):
    drill, look = new_drill(knowledge, hide_car(knowledge, 2), mode), Look()
    every = tuple(knowledge.cautions)[:8] if hazard is MissKind.UNREAD else ()
    drill.stop("what was done", hazard, every, drill.danger_checks())
    fits(screen for screen in debrief.screens(drill, score(drill), look, "K7RT") if screen)
    heads = {line.split(" ")[0] for _, line in debrief.hazard_screen(drill, look)}
    assert heads >= {"What", "Hazard", "Right"}


def test_a_sign_that_keeps_the_engine_off_is_told_with_what_lifts_it():
    assert set(debrief.STAYS_OFF) == set(EngineOff)


def test_no_screen_of_a_drill_takes_the_learner_or_the_caller_for_a_man():
    from pathlib import Path

    import comeback.cli.drill

    for file in Path(comeback.cli.drill.__path__[0]).glob("*.py"):
        words = file.read_text().lower().replace("'", " ").split()
        assert not {"he", "his", "him", "himself"} & set(words), file
