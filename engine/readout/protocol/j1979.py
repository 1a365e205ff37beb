"""One message of a control unit -> what it says, by SAE J1979 / ISO 15031-5 (standards not read).

Services 01 live values, 02 freeze frame, 03 stored, 07 pending and 0A permanent codes, 04 codes
cleared, 06 misfire counts (CAN), 09 VIN. Two traps decided here: on CAN a count stands before the
codes, on older links there is none but padding; and an answer of service 02 holds a frame number.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from comeback.engine.readout.protocol.framing import REFUSAL, Message
from comeback.engine.readout.protocol.monitors import Readiness, read_readiness
from comeback.engine.readout.protocol.parameters import BY_ITEM, SIZES
from comeback.engine.readout.protocol.trouble_codes import code_of

STORED, PENDING, PERMANENT, TYPED, LISTED = "stored", "pending", "permanent", "typed", "listed"
"""Kinds of codes; typed ones are stored and pending ones together, listed ones stand in a text that does not say."""
_CODE_SERVICES = {0x43: STORED, 0x47: PENDING, 0x4A: PERMANENT}
_PADDING = b"\x00\x55\xaa\xff"
_REASONS = {
    0x10: "general refusal", 0x11: "not supported", 0x12: "not supported in this form", 0x21: "busy",
    0x22: "conditions not right", 0x31: "out of range", 0x78: "answer comes later",
}  # fmt: skip
_CYLINDER_FIRST, _CYLINDER_LAST, _NOW, _AVERAGE = 0xA2, 0xAD, 0x0C, 0x0B  # service 06, from memory


@dataclass(frozen=True)
class Value:
    """A number of service 01 (`frame` None) or of a freeze frame."""

    unit: str
    key: str
    value: float
    frame: int | None = None


@dataclass(frozen=True)
class FuelSystem:
    """Data item 03: status byte of the first fuel system; 0x02 is closed loop."""

    unit: str
    status: int
    frame: int | None = None


@dataclass(frozen=True)
class Supported:
    """Items that a control unit has, from its bit map at `base`."""

    unit: str
    base: int
    items: tuple[int, ...]


@dataclass(frozen=True)
class Status:
    """Data item 01 of a control unit."""

    unit: str
    readiness: Readiness


@dataclass(frozen=True)
class Codes:
    """Codes of one service of a control unit; `kind` is stored, pending or permanent."""

    unit: str
    kind: str
    codes: tuple[str, ...]


@dataclass(frozen=True)
class FrameCode:
    """The code that a freeze frame belongs to; None if no frame is stored."""

    unit: str
    frame: int
    code: str | None


@dataclass(frozen=True)
class Misfires:
    """Misfires of one cylinder in this or the last drive, from service 06."""

    unit: str
    cylinder: int
    count: int


@dataclass(frozen=True)
class VinPart:
    """Text of service 09, item 02: whole on CAN (`part` 0), four characters a line on older links."""

    unit: str
    part: int
    text: str


@dataclass(frozen=True)
class Cleared:
    """A positive answer to service 04: codes were cleared here."""

    unit: str


@dataclass(frozen=True)
class Unusable:
    """Something that could not be used, and why."""

    text: str


Item = Value | FuelSystem | Supported | Status | Codes | FrameCode | Misfires | VinPart | Cleared | Unusable


def decode(message: Message) -> Iterator[Item]:
    """Everything that the message says. Never raises; what cannot be used becomes a Remark."""
    data = message.data
    if not data:
        return
    service = data[0]
    if service == REFUSAL:
        yield from _refusal(message)
    elif service == 0x41:
        yield from _live(message.unit, data[1:])
    elif service == 0x42:
        yield from _frozen(message.unit, data[1:])
    elif service in _CODE_SERVICES:
        yield from _codes(message, _CODE_SERVICES[service])
    elif service == 0x44:
        yield Cleared(message.unit)
    elif service == 0x46:
        yield from _misfires(message.unit, data[1:])
    elif service == 0x49:
        yield from _vehicle(message.unit, data[1:])


def _refusal(message: Message) -> Iterator[Item]:
    """`7F 02 12` is a refusal of service 02, never data."""
    service, reason = (*message.data[1:3], 0, 0)[:2]
    if reason not in (0x21, 0x78):
        yield Unusable(f"service {service:02X} was refused: {_REASONS.get(reason, f'reason {reason:02X}')}")


def _live(unit: str, data: bytes) -> Iterator[Item]:
    """Items one after the other, each with its own number of bytes; several in one answer on CAN."""
    first = True
    while data and (first or not _is_padding(data)):
        item, rest = data[0], data[1:]
        size = SIZES.get(item)
        if size is None:
            if first:
                yield Unusable(f"data item {item:02X} is not known here")
            return
        if len(rest) < size:
            yield Unusable(f"data item {item:02X} has {len(rest)} of {size} bytes: left out")
            return
        yield from _item(unit, item, rest[:size], None)
        data, first = rest[size:], False


def _is_padding(data: bytes) -> bool:
    return data[0] in _PADDING and not data.strip(data[:1])


def _item(unit: str, item: int, data: bytes, frame: int | None) -> Iterator[Item]:
    if item in BY_ITEM:
        for parameter in BY_ITEM[item]:
            yield Value(unit, parameter.key, parameter.decode(data), frame)
    elif item == 0x03:
        yield FuelSystem(unit, data[0], frame)
    elif item == 0x01 and frame is None:
        yield Status(unit, read_readiness(data))
    elif item % 0x20 == 0 and frame is None:
        bits = int.from_bytes(data, "big")
        yield Supported(unit, item, tuple(item + 1 + i for i in range(32) if bits >> 31 - i & 1))


def _frozen(unit: str, data: bytes) -> Iterator[Item]:
    """`42 item frame bytes`: without the frame number every value would be read one byte off."""
    if len(data) < 3:
        yield Unusable("a freeze frame answer is too short: left out")
        return
    item, frame, rest = data[0], data[1], data[2:]
    size = SIZES.get(item)
    if size is None or len(rest) < size:
        yield Unusable(f"freeze frame item {item:02X} is not known here or too short: left out")
    elif item == 0x02:
        yield FrameCode(unit, frame, code_of(rest[0], rest[1]) if rest[0] or rest[1] else None)
    else:
        yield from _item(unit, item, rest[:size], frame)


def _codes(message: Message, kind: str) -> Iterator[Item]:
    """An odd number of bytes begins with a count (CAN); an even number is codes and padding only."""
    body = message.data[1:]
    if len(body) % 2:
        count, body = body[0], body[1:]
        if count * 2 > len(body):
            yield Unusable(f"{count} {kind} codes were announced, {len(body) // 2} came. Read them again.")
        body = body[: count * 2]
    elif message.can and body:
        yield Unusable(f"the {kind} codes came without their count; read as pairs of bytes")
    pairs = [(body[i], body[i + 1]) for i in range(0, len(body) - 1, 2)]
    yield Codes(message.unit, kind, tuple(dict.fromkeys(code_of(a, b) for a, b in pairs if a or b)))


def _misfires(unit: str, data: bytes) -> Iterator[Item]:
    """Groups of 9 bytes: monitor, test, scale, value, minimum, maximum; on older links there are none of these."""
    for i in range(0, len(data) - 8, 9):
        monitor, test = data[i], data[i + 1]
        if _CYLINDER_FIRST <= monitor <= _CYLINDER_LAST and test == _NOW:
            yield Misfires(unit, monitor - _CYLINDER_FIRST + 1, int.from_bytes(data[i + 3 : i + 5], "big"))


def _vehicle(unit: str, data: bytes) -> Iterator[Item]:
    if len(data) < 3 or data[0] != 0x02:
        return
    whole = len(data) >= 19
    text = data[2:].strip(_PADDING).decode("latin-1")
    yield VinPart(unit, 0 if whole else data[1], text[-17:] if whole else text)
