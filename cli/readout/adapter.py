"""A serial adapter between computer and car: questions as text lines, answers up to its `>` prompt.

Reads only. Besides its own set-up an adapter is asked for services 01, 02, 03, 06, 07 and 0A;
whatever else is refused here, before it reaches the wire.
"""

import contextlib
import re
import time
from dataclasses import dataclass, field
from typing import Any

from comeback.engine.readout.protocol.car_data import CarData
from comeback.engine.readout.protocol.framing import read_lines
from comeback.engine.readout.protocol.j1979 import collect

SPEEDS = (38400, 115200, 9600)
"""Line speeds tried in turn when none is given (common practice)."""
SET_UP = ("ATZ", "ATE0", "ATL0", "ATS1", "ATH1", "ATSP0")
"""Reset; echo off, line feeds off, spaces on, identifiers on, find the link by itself."""
_READ_ONLY = re.compile(r"AT(Z|E0|L0|S1|H1|SP0|I)|(01|06)[0-9A-F]{2}|02[0-9A-F]{4}|03|07|0A")
PATIENCE = 4.0
"""Seconds that an answer may take."""
_MOST = 65536  # bytes of one answer; more is garbage
_KEPT = "What was read so far is kept; continue by hand."
FIRST = 4  # the first question may take so many times longer: the adapter looks for the link
ROUNDS = 3  # of live values, which swing; the median counts
_FROZEN = (0x03, 0x0C, 0x04, 0x05, 0x0D, 0x06, 0x07, 0x08, 0x09, 0x0B, 0x0F, 0x10, 0x11)
_ONCE = (0x33, 0x1F, 0x21, 0x30, 0x31, 0x4D, 0x4E)
_LIVE = (0x0C, 0x0D, 0x03, 0x05, 0x06, 0x07, 0x08, 0x09, 0x0B, 0x10, 0x0F, 0x42, 0x11)
_CYLINDERS = range(0xA2, 0xA8)


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
            answer, end = bytearray(), time.monotonic() + (patience or self.patience)
            while b">" not in answer and len(answer) <= _MOST and time.monotonic() <= end:
                answer += self.stream.read(256)
        except OSError:
            raise AdapterError(f"{self.name}: the adapter is gone. Cable unplugged? {_KEPT}") from None
        if b">" not in answer:
            raise AdapterError(f"{self.name}: {_trouble(answer, patience or self.patience)} {_KEPT}")
        lines = re.split(r"[\r\n]+", answer[: answer.index(b">")].decode("latin-1").replace("\x00", ""))
        return [line.strip() for line in lines if line.strip() not in ("", plain)]

    def close(self) -> None:
        """Let go of the port; never raises."""
        with contextlib.suppress(OSError):
            self.stream.close()


def _trouble(got: bytearray, patience: float) -> str:
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


@dataclass
class LiveReading:
    """Lines read so far; `error` says why it broke off, if it did."""

    lines: list[str] = field(default_factory=list)
    error: str = ""
    interrupted: bool = False

    def data(self) -> CarData:
        """What the lines say. No answer to an item is no news here: a car is asked for more than it has."""
        return collect(read_lines(line for line in self.lines if line != "NO DATA"))


def read_car(adapter: Adapter) -> LiveReading:
    """Ask everything; what was read before a break is kept, with the reason in `error`."""
    reading = LiveReading()
    try:
        for command in SET_UP:
            adapter.ask(command)
        _ask_all(adapter, reading)
    except AdapterError as error:
        reading.error = str(error)
    except KeyboardInterrupt:
        reading.error, reading.interrupted = "Interrupted. What was read so far is kept; continue by hand.", True
    return reading


def _ask_all(adapter: Adapter, reading: LiveReading) -> None:
    reading.lines += adapter.ask("0100", adapter.patience * FIRST)
    for command in ("0120", "0140", "03", "07", "0A", "0101", "020200"):
        reading.lines += adapter.ask(command)
    known = reading.data()
    for item in _FROZEN if known.freeze_frame and known.freeze_frame.code else ():
        reading.lines += adapter.ask(f"02{item:02X}00")
    on_can = any(message.can for message in read_lines(reading.lines).messages)
    for monitor in _CYLINDERS if on_can else ():  # misfire counts, up to the first cylinder that there is not
        answer = adapter.ask(f"06{monitor:02X}")
        if not collect(read_lines(answer)).misfires:
            break
        reading.lines += answer
    for item in (*_LIVE * ROUNDS, *_ONCE):
        if item in known.supported or not known.supported:
            reading.lines += adapter.ask(f"01{item:02X}")
