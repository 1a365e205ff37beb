"""A car read through an adapter: what is asked in which order, and the samples with the engine running.

Evidence comes first: codes, freeze frame and readiness before anything that needs a running engine.
"""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from comeback.cli.readout.adapter import Adapter, AdapterError
from comeback.engine.readout.protocol.car_data import FAST, CarData, collect, merge, state_of_speed
from comeback.engine.readout.protocol.framing import read_lines

FIRST = 4  # the first question may take so many times longer: the adapter looks for the link
_STANDING = (0x0C, 0x0D, 0x03, 0x05, 0x0F, 0x0B, 0x33, 0x42, 0x1F, 0x21, 0x30, 0x31, 0x4D, 0x4E)
_SAMPLED = (0x0C, 0x03, 0x05, 0x06, 0x07, 0x08, 0x09, 0x0B, 0x10, 0x0F, 0x42, 0x11)
_FROZEN = (0x0C, 0x04, 0x05, 0x0D, 0x06, 0x07, 0x08, 0x09, 0x0B, 0x0F, 0x10, 0x11)
_CYLINDERS = range(0xA2, 0xA8)


@dataclass
class LiveReading:
    """Lines read so far by engine state (None: told by the data); `error` says why it broke off, if it did."""

    parts: list[tuple[str | None, list[str]]] = field(default_factory=list)
    error: str = ""
    interrupted: bool = False

    @property
    def lines(self) -> list[str]:
        """All lines in order."""
        return [line for _, lines in self.parts for line in lines]

    @property
    def lines_without_vin(self) -> list[str]:
        """All lines but those that hold the car's number."""
        kept = (lines for state, lines in self.parts if not collect(read_lines(lines), state).vin)
        return [line for lines in kept for line in lines]

    def data(self) -> CarData:
        """What the lines say; a sample whose engine speed does not fit its name keeps what the speed says.

        No answer to an item is no news here: a car is asked for more than it has.
        """
        parts = [(_state(state, lines), [line for line in lines if line != "NO DATA"]) for state, lines in self.parts]
        return merge(collect(read_lines(lines), state) for state, lines in parts)


def _state(state: str | None, lines: list[str]) -> str | None:
    if state != FAST:
        return state
    speeds = [s.values["RPM"] for s in collect(read_lines(lines), state).samples.values() if "RPM" in s.values]
    return state if not speeds or state_of_speed(speeds[0]) == FAST else None


@dataclass(frozen=True)
class Progress:
    """How the person is told: `ready` waits until an engine state is set, `tick` a passing line."""

    ready: Callable[[str], None]
    tick: Callable[[str], None]


def read_car(adapter: Adapter, samples: Sequence[str], seconds: float, progress: Progress) -> LiveReading:
    """Ask everything; what was read before a break is kept, with the reason in `error`."""
    reading = LiveReading()
    try:
        adapter.start()
        supported = _standing(adapter, reading, progress)
        for state in samples:
            progress.ready(state)
            _sample(adapter, reading, state, seconds, supported, progress)
    except AdapterError as error:
        reading.error = str(error)
    except KeyboardInterrupt:
        reading.error, reading.interrupted = "Interrupted. What was read so far is kept; continue by hand.", True
    return reading


def _standing(adapter: Adapter, reading: LiveReading, progress: Progress) -> frozenset[int]:
    lines: list[str] = []
    reading.parts.append((None, lines))
    progress.tick("looking for the car ...")
    lines += adapter.ask("0100", adapter.patience * FIRST)
    supported = collect(read_lines(lines)).supported
    for base in (0x20, 0x40):
        if base in supported:
            lines += adapter.ask(f"01{base:02X}")
    supported = collect(read_lines(lines)).supported
    for command in ("03", "07", "0A", "0101", "020200"):
        progress.tick(f"codes, freeze frame, readiness: {command}")
        lines += adapter.ask(command)
    frame = collect(read_lines(lines)).freeze_frame
    if frame and frame.code:
        for item in (0x03, *_FROZEN):
            lines += adapter.ask(f"02{item:02X}00")
    for item in _asked(_STANDING, supported):
        progress.tick(f"values: {item:02X}")
        lines += adapter.ask(f"01{item:02X}")
    _counts(adapter, lines)
    number: list[str] = []  # apart, so that the case need not keep who the car is
    reading.parts.append((None, number))
    number += adapter.ask("0902")
    return supported


def _counts(adapter: Adapter, lines: list[str]) -> None:
    """Misfire counts by cylinder, only on CAN; ends with the first cylinder that there is not."""
    if not any(message.can for message in read_lines(lines).messages):
        return
    for monitor in _CYLINDERS:
        answer = adapter.ask(f"06{monitor:02X}")
        if not collect(read_lines(answer)).misfires:
            return
        lines += answer


def _asked(items: Sequence[int], supported: frozenset[int]) -> list[int]:
    return [item for item in items if item in supported or not supported]


def _sample(
    adapter: Adapter, reading: LiveReading, state: str, seconds: float, supported: frozenset[int], progress: Progress
) -> None:
    """Ask the sampled items round and round for `seconds`; at least one whole round."""
    lines: list[str] = []
    reading.parts.append((state, lines))
    start, rounds, speed = time.monotonic(), 0, ""
    while rounds == 0 or time.monotonic() - start < seconds:
        for item in _asked(_SAMPLED, supported):
            answer = adapter.ask(f"01{item:02X}")
            lines += answer
            passed = min(time.monotonic() - start, seconds)
            if item == 0x0C:
                rpm = collect(read_lines(answer)).value("RPM")
                speed = f", {rpm:.0f} rpm" if rpm is not None else ""
            progress.tick(f"{state}: {passed:.0f} of {seconds:.0f} s{speed}")
        rounds += 1
