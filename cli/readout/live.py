"""A car read through an adapter: what is asked in which order, and the samples with the engine running.

Evidence comes first: codes, freeze frame and readiness before anything that needs a running engine.
"""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from comeback.cli.readout.adapter import SET_UP, Adapter, AdapterError
from comeback.engine.readout.protocol.car_data import FAST, CarData, merge, state_of_speed
from comeback.engine.readout.protocol.framing import read_lines
from comeback.engine.readout.protocol.j1979 import collect

FIRST = 4  # the first question may take so many times longer: the adapter looks for the link
_STANDING = (0x0C, 0x0D, 0x03, 0x05, 0x0F, 0x0B, 0x33, 0x42, 0x1F, 0x21, 0x30, 0x31, 0x4D, 0x4E)
_SAMPLED = (0x0C, 0x03, 0x05, 0x06, 0x07, 0x08, 0x09, 0x0B, 0x10, 0x0F, 0x42, 0x11)
_FROZEN = (0x03, 0x0C, 0x04, 0x05, 0x0D, 0x06, 0x07, 0x08, 0x09, 0x0B, 0x0F, 0x10, 0x11)
_CYLINDERS = range(0xA2, 0xA8)


@dataclass
class LiveReading:
    """Lines read so far by engine state (None: told by the data); `error` says why it broke off, if it did.

    `ready` waits until an engine state is set, `tick` shows a passing line.
    """

    adapter: Adapter
    ready: Callable[[str], None]
    tick: Callable[[str], None]
    parts: list[tuple[str | None, list[str]]] = field(default_factory=list)
    supported: frozenset[int] = frozenset()
    error: str = ""
    interrupted: bool = False

    @property
    def lines(self) -> list[str]:
        """All lines in order."""
        return [line for _, lines in self.parts for line in lines]

    def data(self) -> CarData:
        """What the lines say; a sample whose engine speed does not fit its name keeps what the speed says.

        No answer to an item is no news here: a car is asked for more than it has.
        """
        out = []
        for state, lines in self.parts:
            framed = read_lines(line for line in lines if line != "NO DATA")
            rpm = collect(framed, state).value("RPM")
            strange = state == FAST and rpm is not None and state_of_speed(rpm) != FAST
            out.append(collect(framed, None if strange else state))
        return merge(out)

    def read(self, samples: Sequence[str], seconds: float) -> None:
        """Ask everything; what was read before a break is kept, with the reason in `error`."""
        try:
            for command in SET_UP:
                self.adapter.ask(command)
            self._standing()
            for state in samples:
                self.ready(state)
                self._sample(state, seconds)
        except AdapterError as error:
            self.error = str(error)
        except KeyboardInterrupt:
            self.error, self.interrupted = "Interrupted. What was read so far is kept; continue by hand.", True

    def _standing(self) -> None:
        lines: list[str] = []
        self.parts.append((None, lines))
        self.tick("looking for the car ...")
        lines += self.adapter.ask("0100", self.adapter.patience * FIRST)
        for command in ("0120", "0140", "03", "07", "0A", "0101", "020200"):
            self.tick(f"codes, freeze frame, readiness: {command}")
            lines += self.adapter.ask(command)
        so_far = collect(read_lines(lines))
        self.supported, frame = so_far.supported, so_far.freeze_frame
        for item in _FROZEN if frame and frame.code else ():
            lines += self.adapter.ask(f"02{item:02X}00")
        for item in self._asked(_STANDING):
            self.tick(f"values: {item:02X}")
            lines += self.adapter.ask(f"01{item:02X}")
        on_can = any(message.can for message in read_lines(lines).messages)
        for monitor in _CYLINDERS if on_can else ():  # misfire counts, up to the first cylinder that there is not
            answer = self.adapter.ask(f"06{monitor:02X}")
            if not collect(read_lines(answer)).misfires:
                break
            lines += answer

    def _asked(self, items: Sequence[int]) -> list[int]:
        return [item for item in items if item in self.supported or not self.supported]

    def _sample(self, state: str, seconds: float) -> None:
        """Ask the sampled items round and round for `seconds`; at least one whole round."""
        lines: list[str] = []
        self.parts.append((state, lines))
        start, passed, speed = time.monotonic(), -1.0, ""
        while passed < max(seconds, 0):
            for item in self._asked(_SAMPLED):
                answer = self.adapter.ask(f"01{item:02X}")
                lines += answer
                passed = time.monotonic() - start
                if item == 0x0C:
                    rpm = collect(read_lines(answer)).value("RPM")
                    speed = f", {rpm:.0f} rpm" if rpm is not None else ""
                self.tick(f"{state}: {min(passed, seconds):.0f} of {seconds:.0f} s{speed}")
