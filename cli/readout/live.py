"""A car read through an adapter: what is asked, in which order.

Evidence comes first: codes, freeze frame and readiness before live values. Those are read in the state that the
car is in; the engine speed among them tells it.
"""

from dataclasses import dataclass, field

from comeback.cli.readout.adapter import SET_UP, Adapter, AdapterError
from comeback.engine.readout.protocol.car_data import CarData
from comeback.engine.readout.protocol.framing import read_lines
from comeback.engine.readout.protocol.j1979 import collect

FIRST = 4  # the first question may take so many times longer: the adapter looks for the link
ROUNDS = 3  # of live values, which swing; the median counts
_FROZEN = (0x03, 0x0C, 0x04, 0x05, 0x0D, 0x06, 0x07, 0x08, 0x09, 0x0B, 0x0F, 0x10, 0x11)
_ONCE = (0x33, 0x1F, 0x21, 0x30, 0x31, 0x4D, 0x4E)
_LIVE = (0x0C, 0x0D, 0x03, 0x05, 0x06, 0x07, 0x08, 0x09, 0x0B, 0x10, 0x0F, 0x42, 0x11)
_CYLINDERS = range(0xA2, 0xA8)


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
