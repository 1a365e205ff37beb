"""A serial adapter between computer and car: questions as text lines, answers up to its `>` prompt.

Reads only. Besides its own set-up an adapter is asked for services 01, 02, 03, 06, 07, 09 and 0A;
whatever else is refused here, before it reaches the wire. Clearing codes is a method of its own.
"""

import contextlib
import re
import time
from collections.abc import Callable
from typing import Protocol

SPEEDS = (38400, 115200, 9600)
"""Line speeds tried in turn when none is given (common practice)."""
SET_UP = ("ATZ", "ATE0", "ATL0", "ATS1", "ATH1", "ATSP0")
"""Reset; echo off, line feeds off, spaces on, identifiers on, find the link by itself."""
_READ_ONLY = re.compile(r"AT(Z|E0|L0|S1|H1|SP0|I|RV)|(01|06|09)[0-9A-F]{2}|02[0-9A-F]{4}|03|07|0A")
_PROMPT = b">"
PATIENCE = 4.0
"""Seconds that an answer may take."""
_MOST = 65536  # bytes of one answer; more is garbage


class AdapterError(OSError):
    """The adapter or the car does not answer as it should; the message says what to look at."""


class Stream(Protocol):
    """What is needed of a serial port; `read` waits a moment and may return nothing."""

    def read(self, size: int = 1, /) -> bytes:
        """Up to `size` bytes."""

    def write(self, data: bytes, /) -> int | None:
        """Send bytes."""

    def close(self) -> None:
        """Let go of the port."""


class Adapter:
    """An open adapter; `patience`: seconds for an answer."""

    def __init__(self, stream: Stream, name: str) -> None:
        self.stream, self.name, self.patience = stream, name, PATIENCE
        self.clock: Callable[[], float] = time.monotonic

    def start(self) -> str:
        """Set the adapter up; returns what it calls itself. Raises AdapterError."""
        answers = [self._exchange(command, self.patience) for command in SET_UP]
        return " ".join(answers[0]).strip()

    def ask(self, command: str, patience: float | None = None) -> list[str]:
        """The lines that answer a reading question. Raises AdapterError, ValueError if it would do more than read."""
        plain = command.replace(" ", "").upper()
        if not _READ_ONLY.fullmatch(plain):
            raise ValueError(f"{command!r} does more than read, so it was not sent.")
        return self._exchange(plain, patience or self.patience)

    def clear_codes(self) -> list[str]:
        """Service 04: erases codes, freeze frame and readiness. The caller has saved them and was told to."""
        return self._exchange("04", self.patience)

    def close(self) -> None:
        """Let go of the port; never raises."""
        with contextlib.suppress(OSError):
            self.stream.close()

    def _exchange(self, command: str, patience: float) -> list[str]:
        try:
            self.stream.write(command.encode() + b"\r")
            answer = self._until_prompt(patience)
        except OSError as error:
            if isinstance(error, AdapterError):
                raise
            raise AdapterError(f"{self.name}: the adapter is gone. Cable unplugged? {_KEPT}") from None
        text = answer.decode("latin-1").replace("\x00", "")
        lines = [line.strip() for line in re.split(r"[\r\n]+", text)]
        return [line for line in lines if line and line != command]

    def _until_prompt(self, patience: float) -> bytes:
        got, end = bytearray(), self.clock() + patience
        while _PROMPT not in got:
            got += self.stream.read(256)
            if len(got) > _MOST or (self.clock() > end and _PROMPT not in got):
                raise AdapterError(f"{self.name}: {_trouble(bytes(got), patience)} {_KEPT}")
        return bytes(got[: got.index(_PROMPT)])


_KEPT = "What was read so far is kept; continue by hand."


def _trouble(got: bytes, patience: float) -> str:
    if not got:
        return f"no answer within {patience:g} s. Adapter plugged in, ignition on, right port?"
    readable = sum(32 <= byte < 127 or byte in b"\r\n" for byte in got)
    if readable < 0.9 * len(got):
        return "the answers are garbled. Wrong baud rate? Set it with --baud."
    return f"the answer did not end within {patience:g} s. Too slow, or not this kind of adapter."


def open_adapter(port: str, baud: int | None = None) -> Adapter:
    """An adapter that answers, at `baud` or at the first of SPEEDS that it understands. Raises AdapterError."""
    try:
        import serial  # type: ignore[import-untyped, import-not-found, unused-ignore]
    except ImportError:
        raise AdapterError("Reading from a car needs one more library: pip install 'comeback-bay[car]'") from None
    trouble: AdapterError | None = None
    for speed in (baud,) if baud else SPEEDS:
        try:
            stream = serial.Serial(port, speed, timeout=0.05, write_timeout=2)
        except (OSError, ValueError) as error:
            raise AdapterError(f"{port}: cannot be opened ({_reason(error)}). Name the port with --port.") from None
        adapter = Adapter(stream, port)
        try:
            adapter.ask("ATI")
            return adapter
        except AdapterError as error:
            trouble = error
            adapter.close()
    raise trouble or AdapterError(f"{port}: no answer.")


def _reason(error: Exception) -> str:
    text = getattr(error, "strerror", None) or str(error)
    return str(text).split(":")[-1].strip().strip("'") if "could not open" in str(text) else str(text)
