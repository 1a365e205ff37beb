"""`comeback drill` at the car: by piped lines and by keys; every turn in the log at once.

All cases are invented.
"""

import io
import os
import re
import signal
import stat
import subprocess
import sys
from contextlib import closing

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run
from comeback.cli.drill.words import story
from comeback.cli.screens.why import leading
from comeback.engine.case_log.drills import drill_events, drill_lines
from comeback.engine.case_log.store import open_log
from comeback.engine.drill.drill import Mode
from comeback.engine.drill.hidden_car import hide_car
from comeback.engine.drill.record import new_drill
from comeback.engine.drill.score import score
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience
from support.hidden_cars import car_hiding
from support.places import SMALL_FOLDER as SMALL


@pytest.fixture
def place(tmp_path, monkeypatch):
    """The data folder's log."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.delenv("COMEBACK_LOG", raising=False)
    return tmp_path / "comeback" / "cases.db"


@pytest.fixture
def lines_of(place):
    """lines_of() -> what was recorded of every drill, the first begun first."""

    def read():
        with closing(open_log(place)) as log:
            return [drill_events(log, line.id) for line in drill_lines(log)]

    return read


@pytest.fixture(scope="module")
def fuse(small):
    """Options for a car with a blown fuse and no sparks that one repair fixes."""
    return "--seed", str(car_hiding(small, "fuse-out", spark="no").seed)


@pytest.fixture
def drill(place, lines_of, fuse, monkeypatch, capsys):
    """drill(lines, *options) -> (exit code, what was printed, the result that was kept last)."""

    def go(lines, *options, begin=fuse):
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        code = run(["drill", *begin, "--knowledge", SMALL, "--by", "Ben", *options])
        out = capsys.readouterr().out
        ends = [events[-1] for events in lines_of() if events[-1].kind == "finished"]
        return code, out, ends[-1].payload if ends else None

    return go


GOOD = ("signs", "4", "lamp", "check lamp-turns", "check volts", "safe", "repair replace-fuse", "safe",
        "repair screw-in-lamp", "safe")  # fmt: skip


def test_a_drill_by_piped_lines_ends_repaired_and_is_kept(drill, place, lines_of):
    code, out, result = drill(GOOD)
    assert code == exit_codes.DONE
    assert result["ended"] == "complaint gone"
    assert result["safety"] == []
    assert (result["told"], result["right"]) == ("tow", "tow")
    assert result["found"] is True
    assert "Debrief: complaint gone" in out
    assert {event.by for event in lines_of()[0]} == {"Ben"}
    assert stat.S_IMODE(place.stat().st_mode) == 0o600


def test_the_score_of_a_drill_that_goes_on_holds_nothing_of_the_key(small):
    drill = new_drill(small, car_hiding(small, "fuse-out", spark="no"), Mode.GUIDED)
    drill.look_at_signs()
    drill.tell(drill.best_advice())
    found = score(drill)
    assert (found.ended, found.right) == ("left", None)


@pytest.mark.parametrize("line", ["check lamp-turns", "repair replace-fuse"])
def test_working_before_the_signs_stops_the_drill(drill, line):
    code, out, result = drill([line])
    assert code == exit_codes.DONE
    assert result["ended"] == "stopped for safety"
    assert result["safety"] == ["danger signs were not looked at first"]
    assert "Debrief: stopped for safety" in out


def test_advice_is_asked_right_after_the_signs(drill):
    _, out, result = drill(["signs", "check lamp-turns", "9", "0011999", "4", "check lamp-turns", "hand-over"])
    assert result["told"] == "tow"
    assert out.count("Type a number from 1 to 5") == 3
    assert result["checks"] == 1


def test_a_drill_that_is_left_goes_on_where_it_was_and_ends_as_if_it_had_not_been(drill, lines_of):
    _, _, whole = drill(GOOD)
    for k in range(1, len(GOOD)):
        code, out, _ = drill(GOOD[:k])
        if code == exit_codes.DONE:  # the complaint was gone already
            break
        assert code == exit_codes.PAUSED
        assert f"comeback drill --resume {lines_of()[-1][0].case}" in out
        code, _, result = drill(GOOD[k:], "--resume", begin=())
        assert code == exit_codes.DONE
        assert result == whole


def test_what_was_found_and_what_is_open_shows_when_it_goes_on(drill):
    drill(["signs", "4", "check lamp-turns", "q"])
    _, out, _ = drill(["q"], "--resume", begin=())
    assert "The lamp is tight" in out
    drill(["signs", "q"])
    _, out, _ = drill(["q"], "--resume", begin=())
    assert "What do you tell the customer about driving" in out


def test_a_drill_killed_in_the_middle_has_lost_nothing(place, lines_of, fuse):
    """kill -9 right after a result showed; the turn is in the log, its chain whole (drill_events checks it)."""
    command = [sys.executable, "-m", "comeback.cli", "drill", "--knowledge", SMALL, *fuse]
    child = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    child.stdin.write("signs\n4\ncheck lamp-turns\n")
    child.stdin.flush()
    for line in child.stdout:
        if "min so far" in line:
            break
    os.kill(child.pid, signal.SIGKILL)
    child.wait()
    child.stdin.close()
    child.stdout.close()
    assert [event.kind for event in lines_of()[0]] == ["opened", "signs", "told", "checked"]


def test_a_drill_of_other_knowledge_does_not_go_on(drill, capsys):
    drill(["signs", "q"])
    assert run(["drill", "--resume", "--by", "Ben"]) == exit_codes.USAGE
    error = capsys.readouterr().err
    assert "the car would be another one" in error
    assert error.count("\n") == 1


@pytest.mark.parametrize("options", [["--resume"], ["--resume", "XXXX"], ["--debrief", "XXXX"]])
def test_where_there_is_no_such_drill_one_line_says_so(drill, capsys, options):
    drill(GOOD)
    assert run(["drill", "--knowledge", SMALL, "--by", "Ben", *options]) in (exit_codes.USAGE, exit_codes.FILES)
    assert capsys.readouterr().err.count("\n") == 1


def test_a_debrief_can_be_seen_again_from_seed_and_turns_alone(drill, lines_of):
    _, out, _ = drill(GOOD)
    _, again, _ = drill((), "--debrief", lines_of()[0][0].case, begin=())
    assert again.strip() == out[out.index("─" * 79 + "\nDebrief") :].strip()


def test_hints_are_given_in_guided_mode_and_not_in_an_exam(drill):
    _, out, result = drill(["hint", "signs", "4", "hint", "w", "hand-over"], "--mode", "guided")
    assert result["hints"] == 3
    assert "Look at the danger signs." in out
    assert out.count("Next: Lamp seat") == 2
    assert "hints so far: 3" in out
    _, out, result = drill(["signs", "4", "hint", "w", "hand-over"], "--mode", "exam", "--cars", "1")
    assert result["hints"] == 0
    assert out.count("no hints in an exam") == 2


def test_the_help_of_an_exam_names_no_hint(drill):
    _, out, _ = drill(["?", "q"], "--mode", "exam", "--cars", "1")
    assert "hand-over" in out
    assert "hint" not in out
    assert "  hint, w  " in drill(["?", "q"])[1]


def test_why_tells_the_program_s_step_with_its_reasons_and_counts_as_a_hint(drill):
    _, out, result = drill(["signs", "4", "w", "hand-over"])
    assert result["hints"] == 1
    assert "Next: Lamp seat" in out
    assert "Leading: Lamp not screwed in" in out


@pytest.mark.parametrize("typed", ["danger", "danger signs", "signs"])
def test_danger_finds_the_danger_signs(drill, typed):
    _, out, _ = drill([typed, "q"])
    assert "No sign of: Sparks" in out


@pytest.mark.parametrize("typed", ["edit 3", "note x", "keep", "s"])
def test_other_keys_of_the_walk_are_named_as_such(drill, typed):
    assert f"'{typed}' belongs to the real walk" in drill(["signs", "4", typed, "q"])[1]


def test_find_searches_as_in_the_walk(drill):
    assert "1   repair Replace the fuse" in drill(["signs", "4", "find fuse", "q"])[1]


def test_a_worked_example_tells_the_whole_story_in_order(drill):
    """Service, complaint and car first; each step with reason, minutes, result; the end."""
    code, out, result = drill([], "--mode", "watch")
    assert (code, result) == (exit_codes.DONE, None)  # nothing was drilled, nothing is kept
    parts = ["Lamp changed", "It is dark", "Likely", "danger signs: sparks", "Why", "Takes", "Shows",
             "Advice to the customer", "How it ended", "Fuse blown. The fuse is open.", "Correction", "Proof  ",
             "Now one by yourself"]  # fmt: skip
    places = [out.find(part) for part in parts]
    assert -1 not in places, dict(zip(parts, places, strict=True))
    assert sorted(places) == places
    assert out.count("  Why ") == out.count("\nStep ") >= 3


def test_what_a_repair_takes_shows_before_it_is_chosen(drill):
    """base.yaml: 10 work, parts of 3 at 60 an hour = 3; proof: 5 to set the ladder up, 3 volts."""
    _, out, _ = drill(["signs", "4", "fuse", "q"])
    assert "Replace the fuse (about 21 min with parts and proof)" in " ".join(out.split())


def test_chances_that_add_up_to_more_than_all_cars_say_why(small):
    """Findings that speak for both causes (base.yaml): both may be there."""
    walk = begin_walk(small, "lamp-change", "dark", Audience.BAY)
    assert "can have more than one" not in leading(walk, 1)
    both = walk.imagine(walk.answers({"volts": "none", "lamp-turns": "turns"}, "", ""))
    assert leading(both, 2).endswith("(a car can have more than one)")


def test_the_car_is_described_in_whole_words(knowledge):
    """Each value reads as a phrase: no name of a feature glued to it."""
    for seed in range(3):
        drill = new_drill(knowledge, hide_car(knowledge, seed), Mode.GUIDED)
        told = dict(story(drill))["The car"]
        assert re.search(r"fuel injected (into|directly|both)", told)
        assert "key with a key" not in told
        assert "air air" not in told


def test_an_exam_is_fixed_cars_told_at_the_end(drill, lines_of):
    """Two cars given away, then no danger signs."""
    code, out, _ = drill(
        ["signs", "4", "hand-over", "signs", "5", "hand-over", "check volts"], "--mode", "exam", "--cars", "3", begin=()
    )
    assert code == exit_codes.DONE
    assert [events[0].payload["seed"] for events in lines_of()] == [1000, 1001, 1002]
    before, after = out.split("Exam: not passed")
    assert "It was" not in before  # nothing is told until the end ...
    assert "Stopped for safety: danger signs" in before  # ... but a safety miss
    assert "1 in 3" in after
    assert "not found" in after


def test_an_exam_goes_on_with_its_next_car(drill, lines_of):
    drill(["signs", "4", "hand-over", "signs"], "--mode", "exam", "--cars", "2", begin=())
    code, out, _ = drill(["4", "hand-over"], "--resume", begin=())
    assert code == exit_codes.DONE
    assert [events[-1].kind for events in lines_of()] == ["finished", "finished"]
    assert "Exam: not passed" in out
    assert "2 cars" in out
    code, _, _ = drill([], "--resume", begin=())
    assert code == exit_codes.USAGE


def test_nothing_typed_makes_a_traceback(drill):
    odd = ["", "   ", "999999999999", "0011999", "-1", "suspect", "cause", "check", "repair", "repair zzz",
           "\x00\x1b[A", "é" * 500, "1", "signs", "signs", "0", "6", "99999", "0011999", "²", "4", "hint", "r", "?",
           "b", "lamp", "0001", "check light", "note x"]  # fmt: skip
    code, _, result = drill(odd)
    assert code == exit_codes.PAUSED
    assert result is None


@pytest.mark.parametrize(
    "arguments",
    [["--seed", "-1"], ["--service", "soap"], ["--complaint", "darc"], ["--cars", "0"]],
)  # fmt: skip
def test_what_is_not_there_is_one_clear_line(capsys, arguments, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert run(["drill", "--knowledge", SMALL, *arguments]) in (exit_codes.USAGE, exit_codes.FILES)
    assert capsys.readouterr().err.count("\n") == 1
