"""A serial adapter between computer and car: questions as text lines, answers up to its `>` prompt.

Reads only. Besides its own set-up an adapter is asked for services 01, 02, 03, 06, 07 and 0A;
whatever else is refused here, before it reaches the wire.
"""

import contextlib
import re
import time
from typing import Any

SPEEDS = (38400, 115200, 9600)
"""Line speeds tried in turn when none is given (common practice)."""
SET_UP = ("ATZ", "ATE0", "ATL0", "ATS1", "ATH1", "ATSP0")
"""Reset; echo off, line feeds off, spaces on, identifiers on, find the link by itself."""
_READ_ONLY = re.compile(r"AT(Z|E0|L0|S1|H1|SP0|I)|(01|06)[0-9A-F]{2}|02[0-9A-F]{4}|03|07|0A")
PATIENCE = 4.0
"""Seconds that an answer may take."""
_MOST = 65536  # bytes of one answer; more is garbage
_KEPT = "What was read so far is kept; continue by hand."


class AdapterError(OSError):
    """The adapter or the car does not answer as it should; the message says what to look at."""


class Adapter:
    """An open adapter on a serial port or the like: `stream` has read, write and close; read may return nothing."""

    def __init__(self, stream: Any, name: str) -> None:
        self.stream, self.name, self.patience = stream, name, PATIENCE

    def ask(self, command: str, patience: float | None = None) -> list[str]:
        """The lines that answer a reading question. Raises AdapterError, ValueError if it would do more than read."""
        plain = command.replace(" ", "").upper()
        if not _READ_ONLY.fullmatch(plain):
            raise ValueError(f"{command!r} does more than read, so it was not sent.")
        try:
            self.stream.write(plain.encode() + b"\r")
            answer = self._until_prompt(patience or self.patience)
        except AdapterError:
            raise
        except OSError:
            raise AdapterError(f"{self.name}: the adapter is gone. Cable unplugged? {_KEPT}") from None
        lines = re.split(r"[\r\n]+", answer.decode("latin-1").replace("\x00", ""))
        return [line.strip() for line in lines if line.strip() not in ("", plain)]

    def close(self) -> None:
        """Let go of the port; never raises."""
        with contextlib.suppress(OSError):
            self.stream.close()

    def _until_prompt(self, patience: float) -> bytes:
        got, end = bytearray(), time.monotonic() + patience
        while b">" not in got:
            got += self.stream.read(256)
            if len(got) > _MOST or (time.monotonic() > end and b">" not in got):
                raise AdapterError(f"{self.name}: {_trouble(bytes(got), patience)} {_KEPT}")
        return bytes(got[: got.index(b">")])


def _trouble(got: bytes, patience: float) -> str:
    if not got:
        return f"no answer within {patience:g} s. Adapter plugged in, ignition on, right port?"
    if sum(32 <= byte < 127 or byte in b"\r\n" for byte in got) < 0.9 * len(got):
        return "the answers are garbled. Wrong baud rate? Set it with --baud."
    return f"the answer did not end within {patience:g} s. Too slow, or not this kind of adapter."


def open_adapter(port: str, baud: int | None = None) -> Adapter:
    """An adapter that answers, at `baud` or at the first of SPEEDS that it understands. Raises AdapterError."""
    try:
        import serial  # type: ignore[import-untyped, import-not-found, unused-ignore]
    except ImportError:
        raise AdapterError("Reading from a car needs one more library: pip install 'comeback-bay[car]'") from None
    trouble = AdapterError(f"{port}: no answer.")
    for speed in (baud,) if baud else SPEEDS:
        try:
            adapter = Adapter(serial.Serial(port, speed, timeout=0.05, write_timeout=2), port)
        except (OSError, ValueError) as error:
            why = str(getattr(error, "strerror", None) or error)
            why = why.split(":")[-1].strip().strip("'") if "could not open" in why else why
            raise AdapterError(f"{port}: cannot be opened ({why}). Name the port with --port.") from None
        try:
            adapter.ask("ATI")
            return adapter
        except AdapterError as error:
            trouble = error
            adapter.close()
    raise trouble
