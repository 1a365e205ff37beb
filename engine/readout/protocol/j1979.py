"""Messages of control units -> car data, by SAE J1979 / ISO 15031-5 (standards not read).

Services 01 live values, 02 freeze frame, 03 stored, 07 pending and 0A permanent codes, 04 codes
cleared, 06 misfire counts (CAN). Two traps decided here: on CAN a count stands before the codes, on
older links there is none but padding; and an answer of service 02 holds a frame number.
"""

from comeback.engine.readout.protocol.car_data import CONTINUOUS, CarData, Gathered, Readiness
from comeback.engine.readout.protocol.framing import REFUSAL, Framed, Message
from comeback.engine.readout.protocol.parameters import BY_ITEM, SIZES
from comeback.engine.readout.protocol.trouble_codes import PENDING, PERMANENT, STORED, code_of

_CODE_SERVICES = {0x43: STORED, 0x47: PENDING, 0x4A: PERMANENT}
_REASONS = {
    0x10: "general refusal", 0x11: "not supported", 0x12: "not supported in this form", 0x21: "busy",
    0x22: "conditions not right", 0x31: "out of range", 0x78: "answer comes later",
}  # fmt: skip
SPARK = (
    "catalyst", "heated catalyst", "EVAP", "secondary air", "air conditioning or particle filter",
    "oxygen sensor", "oxygen sensor heater", "EGR or valve timing",
)  # fmt: skip
"""Monitors of spark-ignition engines by bit, after those of `CONTINUOUS`."""
_CYLINDER_FIRST, _CYLINDER_LAST, _NOW = 0xA2, 0xAD, 0x0C  # service 06, from memory


def collect(framed: Framed, state: str | None = None) -> CarData:
    """Everything that the messages say. `state`: the engine state of all live values, if a person named it.

    Never raises; what cannot be used becomes a remark.
    """
    got = Gathered(remarks=dict.fromkeys(framed.remarks))
    for message in framed.messages:
        service, data = message.data[0], message.data[1:]
        if service == REFUSAL:  # `7F 02 12` is a refusal of service 02, never data
            if data[1] not in (0x21, 0x78):
                reason = _REASONS.get(data[1], f"reason {data[1]:02X}")
                got.remarks[f"service {data[0]:02X} was refused: {reason}"] = None
        elif service == 0x41:
            _live(data, state, got)
        elif service == 0x42:
            _frozen(data, got)
        elif service in _CODE_SERVICES:
            _codes(message, _CODE_SERVICES[service], got)
        elif service == 0x44:
            got.cleared = True
        elif service == 0x46:
            _misfires(data, got)
    if framed.unread:
        count, first = len(framed.unread), framed.unread[0][:40]
        got.remarks[f"{count} lines were not understood, the first: {first!r}"] = None
    return got.done()


def read_readiness(data: bytes) -> Readiness:
    """The four data bytes of item 01; a set bit in the last means NOT complete (from memory)."""
    a, b, c, d = data[:4]
    present = [(name, b >> bit + 4 & 1) for bit, name in enumerate(CONTINUOUS) if b >> bit & 1]
    if not b & 0x08:  # spark ignition
        present += [(name, d >> bit & 1) for bit, name in enumerate(SPARK) if c >> bit & 1]
    incomplete = tuple(name for name, left in present if left)
    return Readiness(bool(a & 0x80), a & 0x7F, tuple(name for name, _ in present), incomplete)


def _live(data: bytes, state: str | None, got: Gathered) -> None:
    """Items one after the other, each with its own number of bytes; several in one answer on CAN."""
    first = True
    while data and (first or data.strip(data[:1]) or data[0] not in b"\x00\x55\xaa\xff"):  # else only padding is left
        item, rest = data[0], data[1:]
        size = SIZES.get(item)
        if size is None or len(rest) < size:
            if size is not None:
                got.remarks[f"data item {item:02X} has {len(rest)} of {size} bytes: left out"] = None
            elif first:
                got.remarks[f"data item {item:02X} is not known here"] = None
            return
        if parameter := BY_ITEM.get(item):
            got.values.append((state, parameter.key, parameter.decode(rest)))
        elif item == 0x01:
            got.statuses.append(read_readiness(rest))
        elif item % 0x20 == 0:
            bits = int.from_bytes(rest[:4], "big")
            got.supported |= {item + 1 + i for i in range(32) if bits >> 31 - i & 1}
        data, first = rest[size:], False


def _frozen(data: bytes, got: Gathered) -> None:
    """`42 item frame bytes`: without the frame number every value would be read one byte off."""
    size = SIZES.get(data[0]) if data else None
    if size is None or len(data) < 2 + size:
        what = f"freeze frame item {data[0]:02X} is not known here or" if data else "a freeze frame answer is"
        got.remarks[f"{what} too short: left out"] = None
        return
    item, frame, rest = data[0], data[1], data[2:]
    if item == 0x02:
        got.frame_codes[frame] = code_of(rest[0], rest[1]) if any(rest[:2]) else got.frame_codes.get(frame)
    elif parameter := BY_ITEM.get(item):
        got.frames.setdefault(frame, {})[parameter.key] = parameter.decode(rest)


def _codes(message: Message, kind: str, got: Gathered) -> None:
    """An odd number of bytes begins with a count (CAN); an even number is codes and padding only."""
    body = message.data[1:]
    if len(body) % 2:
        count, body = body[0], body[1:]
        if count * 2 > len(body):
            text = f"{count} {kind} codes were announced, {len(body) // 2} came. Read them again."
            got.remarks[text] = None
        body = body[: count * 2]
    elif message.can and body:
        got.remarks[f"the {kind} codes came without their count; read as pairs of bytes"] = None
    pairs = zip(body[::2], body[1::2], strict=True)
    codes = dict.fromkeys(code_of(high, low) for high, low in pairs if high or low)
    got.codes.setdefault(kind, {}).update(codes)
    got.units.setdefault(message.unit, {}).update(codes)


def _misfires(data: bytes, got: Gathered) -> None:
    """Groups of 9 bytes: monitor, test, scale, value, minimum, maximum; on older links there are none of these."""
    for i in range(0, len(data) - 8, 9):
        cylinder = data[i] - _CYLINDER_FIRST + 1
        if _CYLINDER_FIRST <= data[i] <= _CYLINDER_LAST and data[i + 1] == _NOW:
            got.misfires[cylinder] = max(int.from_bytes(data[i + 3 : i + 5], "big"), got.misfires.get(cylinder, 0))
