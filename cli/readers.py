"""Where answers come from: a terminal, a pipe, or a line read while the rest loads; a file of answers is elsewhere.

The first question shows before the walk is loaded, so nothing of the walk is imported here.
"""

import os
import sys
import threading
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import suppress
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from comeback.cli.signals import Stopped

if TYPE_CHECKING:
    from comeback.engine.walk.walk import Walk

PROMPT = "> "
IDLE_SECONDS = 600.0
"""After so long without a key the screen says again where one was."""
Made = TypeVar("Made")


class Idle(Exception):
    """Nothing was typed for IDLE_SECONDS."""


class Reader(Protocol):
    """Gives the next line typed for the walk's step.

    Raises EOFError at the end, KeyboardInterrupt on Ctrl-C, Idle after long silence. `scripted`:
    answers come by id and no question that has no id may be asked.
    """

    interactive: bool
    scripted: bool

    def ask(self, walk: "Walk | None") -> str:
        """The next line."""


class PipeReader:
    """Lines from standard input when it is no terminal; never prints a prompt, never pads."""

    interactive = False
    scripted = False

    def ask(self, walk: "Walk | None") -> str:
        """The next line of standard input."""
        line = sys.stdin.readline()
        if not line:
            raise EOFError
        return line


class PlainReader(PipeReader):
    """Lines from a terminal as the terminal itself edits them: append-only, not one escape byte."""

    interactive = True

    def ask(self, walk: "Walk | None") -> str:
        """The next line typed; Ctrl-D on an empty line is the end."""
        print(PROMPT, end="", flush=True)
        return super().ask(walk)


class TerminalReader:
    """A line editor by prompt_toolkit: history of this walk only, mouse off, Ctrl-D always means leave.

    It is loaded when the first line is asked for, so that the first question shows before.
    """

    interactive = True
    scripted = False
    idle = IDLE_SECONDS

    def __init__(self) -> None:
        with suppress(ValueError):
            self.idle = max(0.1, float(os.environ.get("COMEBACK_IDLE_SECONDS", "")))  # for tests, or to see it sooner
        self._silent = False
        self._session: Any = None
        self._instead: PlainReader | None = None

    def ask(self, walk: "Walk | None") -> str:
        """The next line typed at the prompt."""
        if self._session is None and self._instead is None:
            try:
                self._session = _line_editor()
            except Exception:  # it cannot start on this terminal: the terminal's own line will do
                self._instead = PlainReader()
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
        """Leave the prompt after long silence, but never while something is typed there."""
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
    from prompt_toolkit.keys import Keys

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

    @keys.add(Keys.Vt100MouseEvent)
    def _no_mouse(event: KeyPressEvent) -> None:
        """The mouse is off: what looks like its report is a color code out of some text that was pasted."""

    session: Any = PromptSession(key_bindings=keys, enable_history_search=True)
    return session


def choose_reader(answers: str | None, plain: bool = False) -> Reader:
    """The reader for these options and this standard input. Raises UsageError for a bad file of answers."""
    if answers is not None:
        from comeback.cli.answers_reader import AnswersReader

        return AnswersReader(answers)
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return PipeReader()
    if plain or os.environ.get("TERM") == "dumb":
        return PlainReader()
    return TerminalReader()


def in_background(make: Callable[[], Made]) -> "Future[Made]":
    """What `make` returns, made in a thread; `result()` waits for it, and raises whatever `make` raised."""
    made: Future[Made] = Future()

    def run() -> None:
        try:
            made.set_result(make())
        except BaseException as error:
            made.set_exception(error)

    threading.Thread(target=run, daemon=True).start()
    return made


class ReadAhead:
    """A reader whose first line is asked for at once, before there is a walk; then it is the reader itself."""

    def __init__(self, reader: Reader) -> None:
        self.interactive, self.scripted, self._reader = reader.interactive, reader.scripted, reader
        self._first: str | BaseException | None
        try:
            self._first = reader.ask(None)
        except (Idle, EOFError, KeyboardInterrupt, Stopped) as outcome:
            self._first = outcome

    def ask(self, walk: "Walk | None") -> str:
        """The line that was typed first (or what happened instead), then each next one."""
        first, self._first = self._first, None
        if isinstance(first, BaseException):
            raise first
        return self._reader.ask(walk) if first is None else first
