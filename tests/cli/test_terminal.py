"""Real pseudo-terminals: kill -9 at every step, closed window, request to end, resize, silence, linear mode."""

import os
import signal
import subprocess
import sys

import pytest

from comeback.cli import exit_codes
from comeback.cli.screens import wording
from comeback.engine.case.events import first_broken_link
from comeback.engine.case_log.store import open_log
from support.places import SMALL_FOLDER as SMALL

pexpect = pytest.importorskip("pexpect")
pytestmark = pytest.mark.terminal

READY = "\\? help"
"""The last words of every screen: the prompt follows."""
WALK = [  # what is typed, what the next screen shows, the kind of event that is then on the disk
    ("1", "What does the customer report", "service"),
    ("no light", "Which of these", "service"),
    ("1", "danger sign", "complaint"),
    ("n", "Lamp seat", "answered"),
    ("2", "Repair: Screw the lamp in", "answered"),
    ("done", "Prove the repair", "repaired"),
    ("y", "Close the case", "answered"),
]


@pytest.fixture
def start(tmp_path):
    """start(*arguments, **environment) -> the program on a terminal of its own, 24 x 80."""
    children = []

    def run(*arguments, dimensions=(24, 80), **environment):
        child = pexpect.spawn(
            sys.executable, ["-m", "comeback.cli", *arguments, "--knowledge", SMALL],
            env={**os.environ, "TERM": "xterm", "XDG_DATA_HOME": str(tmp_path), "XDG_CACHE_HOME": str(tmp_path),
                 "XDG_CONFIG_HOME": str(tmp_path), "COMEBACK_LOG": "", "COMEBACK_BY": "Ida", **environment},
            dimensions=dimensions, encoding="utf-8", timeout=30,
        )  # fmt: skip
        child.delaybeforesend = 0.05
        children.append(child)
        return child

    yield run
    for child in children:
        child.close(force=True)


def recorded(tmp_path):
    """Events of the only case in the log."""
    log = open_log(tmp_path / "comeback" / "cases.db")
    try:
        (line,) = log.cases()
        return log.events(line.id)
    finally:
        log.engine.dispose()


def walk_to(child, count):
    child.expect("Which service")
    child.expect(">")
    for typed, shown, _ in WALK[:count]:
        child.sendline(typed)
        child.expect(shown)


@pytest.mark.parametrize("count", range(1, len(WALK) + 1))
def test_kill_at_every_step_loses_nothing_and_the_walk_goes_on_where_it_stood(tmp_path, start, count):
    child = start("triage", "--plain")
    walk_to(child, count)
    child.kill(signal.SIGKILL)
    child.wait()
    events = recorded(tmp_path)
    assert events[-1].kind == WALK[count - 1][2]
    assert first_broken_link(events) is None
    again = start("triage", events[0].case, "--plain")
    again.expect("What does the customer report" if count == 2 else WALK[count - 1][1])


@pytest.mark.parametrize(
    ("number", "code"), [(signal.SIGHUP, exit_codes.HUNG_UP), (signal.SIGTERM, exit_codes.TERMINATED)]
)
@pytest.mark.parametrize("mode", [[], ["--plain"]], ids=["line editor", "plain"])
def test_told_to_end_the_walk_is_left_in_order(tmp_path, start, number, code, mode):
    child = start("triage", *mode)
    walk_to(child, 1)
    child.expect(READY)
    child.expect(">")
    child.kill(number)
    child.expect("Saved as case")
    child.expect(pexpect.EOF)
    child.wait()
    assert child.exitstatus == code
    assert "Traceback" not in child.before
    assert recorded(tmp_path)[-1].kind == "service"


def test_a_closed_window_loses_nothing(tmp_path, start):
    child = start("triage", "--plain")
    walk_to(child, 3)
    child.close()  # closes the terminal: SIGHUP
    assert recorded(tmp_path)[-1].kind == "complaint"


def test_resizing_keeps_what_was_typed_and_does_not_print_the_question_again(start):
    child = start("triage")
    walk_to(child, 1)
    child.expect(READY)
    child.expect(">")
    child.send("no li")
    child.expect("no li")
    for size in ((30, 132), (24, 40), (10, 60), (24, 80)):
        child.setwinsize(*size)
        child.kill(signal.SIGWINCH)
    child.send("ght\r")
    child.expect("Which of these")
    assert "What does the customer report" not in child.before


def test_ctrl_c_is_a_key_and_a_signal_alike(start):
    child = start("triage")
    walk_to(child, 1)
    child.expect(READY)
    child.expect(">")
    child.sendcontrol("c")
    child.expect("Press Ctrl-C again")
    child.expect(">")
    child.sendcontrol("c")
    child.expect("Saved as case")
    child.expect(pexpect.EOF)
    child.wait()
    assert child.exitstatus == exit_codes.INTERRUPTED


@pytest.mark.parametrize("mode", [[], ["--plain"]], ids=["line editor", "plain"])
def test_hostile_lines_on_a_real_terminal_leave_the_step_to_be_answered(start, mode):
    """The shapes of tests/cli/test_fuzz_prompt.py, a few of them, as a terminal passes them on."""
    child = start("triage", *mode)
    walk_to(child, 4)
    child.expect(READY)
    hostile = [
        "000199",
        "edit 00000199",
        "open 0011999",
        "resume 00000199",
        "saw lamp",
        "00000199",
        "9" * 300,
        "\u0669",
    ]
    hostile += [] if mode else ["\x00\x12\x0f", "\x1b[200~" + "x" * 9_000 + "\r1\x1b[201~", "\x16\x1b]0;title"]
    for typed in hostile:
        child.send(f"{typed}\r" if mode else f"{typed}\x07\x07\r")
    child.send("note done with it\r")
    child.expect(wording.NOTED)
    child.send("2\r")
    child.expect("Repair: Screw the lamp in")
    child.sendline("q")
    child.expect(pexpect.EOF)
    child.wait()
    assert child.exitstatus == exit_codes.PAUSED
    assert "should not happen" not in child.before


def test_after_long_silence_the_screen_says_where_one_was(start):
    child = start("triage", COMEBACK_IDLE_SECONDS="0.6")
    walk_to(child, 1)
    child.expect(wording.RECAP)
    child.expect("Last answer: Service: Lamp changed")
    child.expect("What does the customer report")
    child.sendline("no light")
    child.expect("Which of these")


@pytest.mark.parametrize("environment", [{}, {"COMEBACK_PLAIN": "1"}, {"TERM": "dumb"}, {"LANG": "C", "LC_ALL": "C"}])
def test_linear_mode_prints_not_one_escape_byte(start, environment):
    child = start("triage", *([] if set(environment) & {"COMEBACK_PLAIN", "TERM"} else ["--plain"]), **environment)
    seen = []
    child.logfile_read = type("Log", (), {"write": lambda _, text: seen.append(text), "flush": lambda _: None})()
    walk_to(child, 4)
    child.expect(READY)
    child.expect(">")
    child.sendeof()
    child.expect(pexpect.EOF)
    child.wait()
    assert child.exitstatus == exit_codes.PAUSED
    assert "\x1b" not in "".join(seen)
    assert "Lamp seat" in "".join(seen)


def test_an_unfinished_walk_is_offered_with_who_how_old_and_where(start, tmp_path):
    child = start("triage", "--plain", "--car", "red van")
    walk_to(child, 3)
    child.sendline("q")
    child.expect(pexpect.EOF)
    case = recorded(tmp_path)[0].case
    again = start("triage", "--plain")
    again.expect("Unfinished comebacks: 1")
    again.sendline("resume")
    again.expect(f"{case} +red van +it is dark +Ida +0 min ago")
    again.sendline("resume 1")
    again.expect("Continuing this case")
    again.expect("Last answer: Complaint: It is dark")
    again.expect("danger sign")


def test_nothing_hangs_on_an_empty_input(tmp_path):
    import subprocess

    for command in (["call"], ["triage"], ["cases"], ["record", "AAAA"], ["help"], ["completion", "bash"]):
        extra = ["--knowledge", SMALL] if command[0] in ("call", "triage", "record") else []
        done = subprocess.run(
            [sys.executable, "-m", "comeback.cli", *command, *extra], stdin=subprocess.DEVNULL, capture_output=True,
            text=True, timeout=30, cwd=tmp_path,
            env={**os.environ, "XDG_DATA_HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path), "COMEBACK_LOG": ""},
        )  # fmt: skip
        assert done.returncode in (exit_codes.DONE, exit_codes.PAUSED, exit_codes.FILES), (command, done.stderr)
        assert "Traceback" not in done.stderr


def test_a_stop_that_an_event_loop_swallowed_is_raised_once_more():
    script = (
        "import os, signal, time\nfrom comeback.cli import signals\nsignals.leave_in_order()\n"
        "try:\n    os.kill(os.getpid(), signal.SIGTERM)\nexcept BaseException:\n    pass\n"
        "try:\n    time.sleep(20)\nexcept signals.Stopped as stopped:\n    signals.caught()\n    time.sleep(1)\n"
        "    print('again', stopped.name)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert done.stdout == "again SIGTERM\n"
