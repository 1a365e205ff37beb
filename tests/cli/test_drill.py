"""`comeback drill` by piped lines, by a file of lines and by keys."""

import io
import json
import stat
from pathlib import Path

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from comeback.cli import drill_debrief, drill_screens, exit_codes
from comeback.cli.command_line import run
from comeback.cli.drilling import Drilling
from comeback.cli.look import Look
from comeback.cli.readers import TerminalReader
from comeback.engine.drill import Drill, Mode
from comeback.engine.drill_score import score
from comeback.engine.hidden_car import hide_car

SMALL = str(Path(__file__).parent.parent / "kb" / "small")
SCREEN = 24


@pytest.fixture
def drill(tmp_path, monkeypatch, capsys):
    """drill(lines, *options) -> (exit code, what was printed, the result that was kept)."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))

    def go(lines, *options, known=SMALL):
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        code = run(["drill", "--seed", "1", "--knowledge", known, "--by", "Ben", *options])
        kept = sorted((tmp_path / "comeback" / "drills").glob("*.json"), key=lambda path: path.stat().st_mtime_ns)
        result = json.loads(kept[-1].read_text()) if kept else None
        return code, capsys.readouterr().out, result

    return go


GOOD = ("signs", "4", "lamp", "check lamp-turns", "check volts", "safe", "repair replace-fuse", "safe",
        "repair screw-in-lamp", "safe")  # fmt: skip


def test_a_drill_by_piped_lines_ends_repaired_and_is_kept(drill, tmp_path):
    code, out, result = drill(GOOD)
    assert code == exit_codes.DONE
    assert result["ended"] == "complaint gone"
    assert result["by"] == "Ben"
    assert result["safety"]["misses"] == []
    assert result["conclusions"]["found"] is True
    assert "Debrief: complaint gone" in out
    kept = next((tmp_path / "comeback" / "drills").iterdir())
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600


def test_the_same_lines_from_a_file_give_the_same_drill(drill, tmp_path):
    _, _, piped = drill(GOOD)
    file = tmp_path / "lines.txt"
    file.write_text("# what is typed, line by line\n\n" + "\n".join(GOOD))
    _, _, filed = drill((), "--answers", str(file))
    for result in (piped, filed):
        result.pop("at")
    assert piped == filed


def test_json_is_all_that_is_printed(drill):
    code, out, kept = drill(GOOD, "--json")
    assert code == exit_codes.DONE
    assert json.loads(out) == kept


@pytest.mark.parametrize(
    ("lines", "miss"),
    [
        (["check lamp-turns"], "danger signs were not looked at first"),
        (["repair replace-fuse"], "danger signs were not looked at first"),
    ],
)
def test_working_before_the_signs_stops_the_drill(drill, lines, miss):
    code, out, result = drill(lines)
    assert code == exit_codes.DONE
    assert result["ended"] == "stopped for safety"
    assert result["safety"]["misses"] == [miss]
    assert "Debrief: stopped for safety" in out


OIL = ("--service", "oil-service", "--complaint", "burning-smell")


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
def test_confirming_cautions_without_reading_them_stops_the_drill(gate_reached, typed):
    gate_reached._respond(typed)
    assert gate_reached.drill.ended == "stopped for safety"
    assert "Drain plug" in gate_reached.drill.safety[0]


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


def test_advice_is_asked_right_after_the_signs(drill):
    _, out, result = drill(["signs", "check lamp-turns", "9", "4", "check lamp-turns"])
    assert result["safety"]["told"] == "tow"
    assert out.count("Type a number from 1 to 5") == 2
    assert [turn["name"] for turn in result["turns"]] == ["lamp-turns"]


def test_a_drill_that_is_left_is_kept_as_left(drill):
    code, _, result = drill(["signs", "4", "suspect fuse", "1", "check lamp-turns", "q"])
    assert code == exit_codes.PAUSED
    assert result["ended"] == "left"
    assert result["turns"][0]["suspects"] == ["fuse-out"]


def test_hints_are_given_in_guided_mode_and_not_in_free_mode(drill):
    _, out, result = drill(["signs", "4", "hint", "hint", "hint"], "--mode", "guided")
    assert result["hints"] == [1, 2, 3]
    _, out, result = drill(["signs", "4", "hint"], "--mode", "free")
    assert result["hints"] == []
    assert "no hints in free mode" in out


def test_watch_shows_the_program_s_path_with_reasons(drill):
    code, out, result = drill([], "--mode", "watch")
    assert code == exit_codes.DONE
    assert result is None  # nothing was drilled, nothing is kept
    assert out.count("Step ") >= 3
    assert "Leading:" in out


def test_complete_plays_the_beginning_and_leaves_the_rest(drill):
    code, out, result = drill([*GOOD[3:]], "--mode", "complete")
    assert code == exit_codes.DONE
    assert "Go on by yourself" in out
    assert result["ended"] == "complaint gone"


def test_the_sheet_holds_the_key_and_every_answer_that_is_not_as_expected(drill):
    code, out, result = drill([], "--sheet")
    assert code == exit_codes.DONE
    assert result is None
    for part in ("Key", "Marks", "The program's path", "What the car answers", "seed 1"):
        assert part in out
    assert max(map(len, out.splitlines())) <= 80


def test_nothing_typed_makes_a_traceback(drill):
    odd = [
        "",
        "   ",
        "999999999999",
        "-1",
        "suspect",
        "cause",
        "check",
        "repair",
        "repair zzz",
        "\x00\x1b[A",
        "é" * 500,
        "1",
        "signs",
        "signs",
        "0",
        "6",
        "99999",
        "²",
        "4",
        "hint",
        "r",
        "?",
        "b",
        "check light",
        "note x",
    ]
    code, _, result = drill(odd)
    assert code == exit_codes.PAUSED
    assert result["ended"] == "left"


@pytest.mark.parametrize(
    "arguments", [["--seed", "-1"], ["--service", "soap"], ["--complaint", "darc"], ["--answers", "no-such-file"]]
)
def test_what_is_not_there_is_one_clear_line(capsys, arguments, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert run(["drill", "--knowledge", SMALL, *arguments]) in (exit_codes.USAGE, exit_codes.FILES)
    assert capsys.readouterr().err.count("\n") == 1


def test_by_keys_at_a_terminal(small, capsys):
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        pipe.send_text("signs\r4\rcheck lamp-turns\r\x04")
        drill = Drill(small, hide_car(small, 1), Mode.FREE)
        code = Drilling(drill, TerminalReader(), Look()).run()
    assert code == exit_codes.PAUSED
    assert len(drill.turns) == 1


@pytest.mark.parametrize("seed", range(1, 7))
def test_every_screen_fits_80_columns_and_24_lines(knowledge, seed):
    """Two lines are kept for the key line and the answer."""
    drill, look = Drill(knowledge, hide_car(knowledge, seed), Mode.GUIDED), Look()
    shown = [drill_screens.start(drill, look)]
    signs = drill_screens.signs(drill, drill.look_at_signs(), look)
    shown.append([*signs, *drill_screens.tell(drill, look)])
    drill.tell(drill.best_advice())
    shown += [drill_screens.played(drill, n, p, look) for n, p in enumerate(drill.car.path, 1)]
    for name in list(knowledge.checks)[:60:6]:
        if drill.makes_sense(name):
            turn = drill.check(name)
            shown += [drill_screens.result(drill, turn, look), drill_screens.review(drill, look)]
            cautions = Drilling(drill, None, look)._cautions("check", name)
            shown.append(drill_screens.gate(drill, name, cautions, look))
    drill.name_cause(next(iter(knowledge.causes)))
    shown += drill_debrief.screens(drill, score(drill), look)
    for screen in shown:
        assert len(screen) <= SCREEN - 2, screen
        assert max(len(line) for _, line in screen) <= 80
