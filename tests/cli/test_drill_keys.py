"""`comeback drill` at a terminal: keys, questions before a check, and the size of every screen."""

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from comeback.cli import exit_codes
from comeback.cli.drill import before as drill_before
from comeback.cli.drill import debrief as drill_debrief
from comeback.cli.drill import hazards as drill_hazards
from comeback.cli.drill import screens as drill_screens
from comeback.cli.drill import story as drill_story
from comeback.cli.drill.loop import Drilling
from comeback.cli.look import Look
from comeback.cli.prompt.readers import TerminalReader
from comeback.engine.drill.drill import Drill, Mode
from comeback.engine.drill.hidden_car import hide_car
from comeback.engine.drill.miss import Hazard
from comeback.engine.drill.record import new_drill
from comeback.engine.drill.score import score

SCREEN = 24


@pytest.fixture
def by_keys(small, capsys):
    """by_keys(keys) -> (exit code, the drill, what was recorded)."""

    def go(keys, mode=Mode.FREE):
        kept = []
        with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
            pipe.send_text(keys)
            drill = Drill(small, hide_car(small, 1), mode)
            drilling = Drilling(drill, TerminalReader(), Look(), keep=lambda kind, data: kept.append(kind))
            code = drilling.run()
        return code, drill, kept

    return go


def test_at_a_terminal_one_key_skips_the_suspect(by_keys):
    code, drill, kept = by_keys("signs\r4\rcheck lamp-turns\r\r\x04")
    assert code == exit_codes.PAUSED
    assert kept == ["signs", "told", "checked"]
    assert drill.turns[0].suspects == ()


def test_at_a_terminal_suspect_and_expectation_may_be_named_before_a_check(by_keys):
    _, drill, kept = by_keys("signs\r4\rcheck lamp-turns\rfuse 70%\r2\r\x04")
    turn = drill.turns[0]
    assert (turn.suspects, turn.sure, turn.expects) == (("fuse-out",), 0.7, "turns")
    assert kept == ["signs", "told", "suspected", "expected", "checked"]
    found = score(drill)
    assert (found.named_right, found.suspicions[0].leading) == (1, True)  # seed 1: the fuse
    assert (found.expected, found.met) == (1, 0)


def test_whoever_does_not_want_to_be_asked_is_not_asked_again(by_keys):
    _, _, kept = by_keys("signs\r4\rcheck lamp-turns\roff\rcheck lamp-turns\r\x04")
    assert kept == ["signs", "told", "checked", "checked"]
    _, _, kept = by_keys("signs\r4\rcheck lamp-turns\r\x04", Mode.EXAM)
    assert kept == ["signs", "told", "checked"]


@pytest.mark.parametrize("seed", range(1, 5))
def test_every_screen_fits_80_columns_and_24_lines(knowledge, seed):
    """Two lines are kept for the key line and the answer."""
    drill, look = Drill(knowledge, hide_car(knowledge, seed), Mode.GUIDED), Look()
    shown = [drill_screens.start(drill, look)]
    signs = drill_screens.signs(drill, drill.look_at_signs(), look)
    shown.append([*signs, *drill_screens.tell(drill, look)])
    drill.tell(drill.best_advice())
    shown += drill_story.whole(drill, look)
    found = list(knowledge.repairs)[:40]
    shown += [drill_screens.found(drill, [("repair", x) for x in found[k : k + 9]], look) for k in range(0, 36, 9)]
    drilling = Drilling(drill, None, look)
    for name in list(knowledge.checks)[:60:6]:
        if drill.makes_sense(name):
            for suspect in (True, False):
                shown.append(drill_before.screen(drill, drill_before.Before(name, suspect), look))
            drill.suspect((next(iter(drill.car.behind)),), 0.5)
            turn = drill.check(name)
            shown += [drill_screens.result(drill, turn, look), drill_screens.review(drill, look)]
            shown.append(drill_screens.gate(drill, name, drilling._cautions("check", name), look))
    shown.append([*drilling.start(), *drilling.pending()])
    drill.name_cause(next(iter(knowledge.causes)))
    shown += drill_debrief.screens(drill, score(drill), look, "K7RT")
    shown.append([("plain", line) for line in drill_screens.HELP])
    for screen in shown:
        assert len(screen) <= SCREEN - 2, screen
        assert max(len(line) for _, line in screen) < 80


@pytest.mark.parametrize("hazard", list(Hazard))
@pytest.mark.parametrize("mode", [Mode.FREE, Mode.PHONE])
def test_the_debrief_of_every_safety_stop_fits_and_says_what_would_have_been_right(knowledge, hazard, mode):
    drill, look = new_drill(knowledge, hide_car(knowledge, 2), mode), Look()
    every = tuple(knowledge.cautions)[:8] if hazard is Hazard.UNREAD else ()
    drill.stop("what was done", hazard, every, drill.danger_checks())
    for screen in drill_debrief.screens(drill, score(drill), look, "K7RT"):
        assert len(screen) <= SCREEN - 2, screen
        assert max(len(line) for _, line in screen) < 80
    (told,) = drill_hazards.screen(drill, look)
    heads = {line.split(" ")[0] for _, line in told}
    assert hazard is Hazard.OTHER or {"What", "Hazard", "Right"} <= heads
