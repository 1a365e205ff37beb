"""Where answers come from: a terminal, a pipe, or a file of answers."""

import os
import select
import sys
from collections.abc import Mapping
from typing import Any, Protocol

from comeback.cli.errors import UsageError
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk

PROMPT = "> "


IDLE_SECONDS = 600.0
"""After so long without a key the screen says again where one was."""


class Idle(Exception):
    """Nothing was typed for IDLE_SECONDS."""


class Reader(Protocol):
    """Gives the next line typed for the walk's step.

    Raises EOFError at the end, KeyboardInterrupt on Ctrl-C, Idle after long silence. `scripted`:
    answers come by id and no question that has no id may be asked.
    """

    interactive: bool
    scripted: bool

    def ask(self, walk: Walk) -> str:
        """The next line."""


class PipeReader:
    """Lines from standard input when it is no terminal; never prints a prompt, never pads."""

    interactive = False
    scripted = False

    def ask(self, walk: Walk) -> str:
        """The next line of standard input."""
        line = sys.stdin.readline()
        if not line:
            raise EOFError
        return line


class PlainReader:
    """Lines from a terminal as the terminal itself edits them: append-only, not one escape byte."""

    interactive = True
    scripted = False

    def __init__(self, idle: float = IDLE_SECONDS) -> None:
        self.idle, self._silent, self._left = idle, False, b""

    def ask(self, walk: Walk) -> str:
        """The next line typed; Ctrl-D on an empty line is the end."""
        print(PROMPT, end="", flush=True)
        while b"\n" not in self._left:
            self._wait()
            got = os.read(sys.stdin.fileno(), 4096)
            if not got:
                raise EOFError
            self._left += got
        line, _, self._left = self._left.partition(b"\n")
        self._silent = False
        return line.decode(sys.stdin.encoding or "utf-8", "replace")

    def _wait(self) -> None:
        ready, _, _ = select.select([sys.stdin], [], [], None if self._silent else self.idle)
        if not ready:
            self._silent = True
            print()
            raise Idle


class TerminalReader:
    """A line editor by prompt_toolkit: history of this walk only, mouse off, Ctrl-D always means leave.

    It is loaded when the first line is asked for, so that the first question shows before.
    """

    interactive = True
    scripted = False

    def __init__(self, idle: float = IDLE_SECONDS) -> None:
        self.idle, self._silent = idle, False
        self._session: Any = None
        self._instead: PlainReader | None = None

    def ask(self, walk: Walk) -> str:
        """The next line typed at the prompt."""
        if self._session is None and self._instead is None:
            try:
                self._session = _line_editor()
            except Exception:  # it cannot start on this terminal: the terminal's own line will do
                self._instead = PlainReader(self.idle)
        if self._instead is not None:
            return self._instead.ask(walk)
        try:
            typed: str = self._session.prompt(PROMPT, pre_run=None if self._silent else self._watch)
        except Idle:
            self._silent = True
            raise
        self._silent = False
        return typed

    def _watch(self) -> None:
        """Leave the prompt after long silence, but never while something stands in it."""
        app = self._session.app

        def look() -> None:
            if app.is_running and not app.current_buffer.text:
                app.exit(exception=Idle())
            elif app.is_running and app.loop is not None:
                app.loop.call_later(self.idle, look)

        if app.loop is not None:
            app.loop.call_later(self.idle, look)


def _line_editor() -> Any:
    # Asking the terminal for the cursor's place stalls or prints rubbish on slow lines, and is not needed.
    os.environ.setdefault("PROMPT_TOOLKIT_NO_CPR", "1")
    from prompt_toolkit import PromptSession
    from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent

    keys = KeyBindings()

    @keys.add("c-d")
    def _leave(event: KeyPressEvent) -> None:
        event.app.exit(exception=EOFError)

    @keys.add("c-c")
    def _clear(event: KeyPressEvent) -> None:
        if event.app.current_buffer.text:
            event.app.current_buffer.reset()
        else:
            event.app.exit(exception=KeyboardInterrupt)

    session: Any = PromptSession(key_bindings=keys, enable_history_search=True)
    return session


class AnswersReader:
    """Answers by id from a YAML file: `service: ...`, `complaint: ...`, a check id, a repair id.

    An answer that only holds after the k-th repair is given as `check-id@k`. Red flags may be given
    one by one; those not mentioned are "none". `otherwise: d` (don't know) or `otherwise: expected`
    (nothing wrong) answers everything that is not listed.
    """

    interactive = False
    scripted = True

    def __init__(self, file: str) -> None:
        self.file = file
        self.answers = _read_answers(file)
        self._again: str | None = None
        self._times = 0

    def ask(self, walk: Walk) -> str:
        """The file's answer to the walk's step; UsageError if it has none or it was not accepted."""
        keys = answer_keys(walk)
        for key in keys:
            if key in self.answers:
                return self._once(key, self.answers[key])
        if isinstance(walk.step, steps.DangerScreen):
            return self._once("danger signs", self._danger(walk, walk.step.checks))
        if isinstance(walk.step, steps.ReadPanel) and any(check in self.answers for check in walk.step.checks):
            given = [f"{c}:{self.answers[c]}" for c in walk.step.checks if c in self.answers]
            return self._once(walk.step.panel, " ".join(given))
        if isinstance(walk.step, steps.Advise | steps.CloseCase | steps.HandOver):
            return self._once(keys[0], "y")
        if "otherwise" in self.answers:
            return self._once(keys[0], self._otherwise(walk))
        raise UsageError(f"{self.file}: no answer for '{keys[0]}'. Add the line `{keys[0]}: ...`.")

    def _otherwise(self, walk: Walk) -> str:
        """`d`, or with `otherwise: expected` what a car with nothing wrong would give."""
        given = self.answers["otherwise"]
        match walk.step:
            case steps.MakeCheck(check=check) if given == "expected":
                return walk.knowledge.checks[check].expected
            case steps.ProveRepair(result=result) if given == "expected":
                return result
            case steps.ReadPanel() if given == "expected":
                return "n"
            case steps.ChooseCondition() | steps.MakeCheck() if given == "expected":
                return "d"
        return given

    def _once(self, key: str, text: str) -> str:
        """A step that asks the same thing again did not accept the answer."""
        self._times = self._times + 1 if key == self._again else 0
        self._again = key
        if self._times > 1:
            raise UsageError(f"{self.file}: '{text}' is no answer for '{key}'. Correct that line.")
        return text

    def _danger(self, walk: Walk, checks: tuple[str, ...]) -> str:
        tokens = []
        for number, name in enumerate(checks, 1):
            check, given = walk.knowledge.checks[name], self.answers.get(name)
            if given is None or given == check.expected:
                continue
            if given in ("d", "don't know"):
                tokens.append(f"{number}?")
            elif given in check.names:
                letter = "abcdefg"[check.names.index(given) - 1] if len(check.names) > 2 else ""
                tokens.append(f"{number}{letter}")
            else:
                raise UsageError(f"{self.file}: '{given}' is no result of '{name}'. Use: {', '.join(check.names)}.")
        return " ".join(tokens) or "n"


def answer_keys(walk: Walk) -> tuple[str, ...]:
    """Ids by which an answers file may answer the current step, the most exact first."""
    match walk.step:
        case steps.ChooseService():
            return ("service",)
        case steps.ChooseComplaint():
            return ("complaint",)
        case steps.ChooseCondition(feature=feature):
            return (feature,)
        case steps.DangerScreen(retry=retry):
            return ("danger-signs-again", "danger-signs") if retry else ("danger-signs",)
        case steps.MakeCheck(check=check):
            return (
                (check, f"{check}@{walk.case.epoch}") if not walk.case.epoch else (f"{check}@{walk.case.epoch}", check)
            )
        case steps.ProveRepair(check=check):
            return (f"{check}@{walk.case.epoch}",)
        case steps.ReadPanel(panel=panel):
            return (f"{panel}@{walk.case.epoch}", panel)
        case steps.DoRepair(repair=repair):
            return (repair, "repair")
        case steps.Advise():
            return ("advice",)
        case steps.HandOver():
            return ("hand-over",)
        case _:
            return ("close",)


def _read_answers(file: str) -> Mapping[str, str]:
    from comeback.cli.text_files import read_text
    from comeback.kb.yaml.reader import read_yaml

    data: Any = read_yaml(read_text(file), file).data or {}
    if not isinstance(data, dict):
        raise UsageError(f"{file}: answers are lines of `id: answer`. This is something else.")
    return {str(key): str(value) for key, value in data.items()}


def choose_reader(answers: str | None, no_input: bool = False, plain: bool = False) -> Reader:
    """The reader for these options and this standard input. Raises UsageError if answers are forbidden to be asked."""
    if answers is not None:
        return AnswersReader(answers)
    if no_input:
        raise UsageError("--no-input needs the answers from a file: add --answers FILE.")
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return PipeReader()
    idle = _idle_seconds()
    if plain or os.environ.get("TERM") == "dumb":
        return PlainReader(idle)
    return TerminalReader(idle)


def _idle_seconds() -> float:
    """COMEBACK_IDLE_SECONDS, for tests and for those who want the recap sooner."""
    try:
        return max(0.1, float(os.environ.get("COMEBACK_IDLE_SECONDS", "")))
    except ValueError:
        return IDLE_SECONDS
