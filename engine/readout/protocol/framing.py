"""Lines of text from an adapter or a captured log -> messages of control units, one from each answer.

Understood: bare response bytes; CAN with 11- or 29-bit identifiers, `id#data` too; several parts of
one message (ISO 15765-2) with identifiers or in the adapter's numbered form; older links with three
header bytes and a checksum (SAE J1850, ISO 9141-2, ISO 14230-4). Adapters' words become remarks.
Whatever is not understood is counted and never guessed at. The standards were not read (from memory).
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

from comeback.engine.readout.protocol.checksums import good_sum

ANSWERS = range(0x41, 0x4B)
"""First byte of a positive response: service number plus 0x40."""
REFUSAL = 0x7F
"""First byte of an answer that refuses the service."""
CLEAR = 0x04
"""Service that clears codes (SAE J1979, from memory)."""

_HEX = re.compile(r"[0-9A-Fa-f]+\Z")
_CAN_HASH = re.compile(r"\b([0-9A-Fa-f]{3}|[0-9A-Fa-f]{8})#([0-9A-Fa-f]{2,16})\b")
_LENGTH = re.compile(r"\s*([0-9A-Fa-f]{3})\s*\Z")
_PART = re.compile(r"\s*([0-9A-Fa-f]):\s*([0-9A-Fa-f\s]*)\Z")
_OWN_NAME = re.compile(r"\bV\d+\.\d+\w*\Z")  # how an adapter names itself: a word and its version
_LABEL = re.compile(r"(?:<|>|<-|->|[RT]X[:>]?|recv:?|sent:?|can\d:?|[0-9A-Fa-f]+:?|[\d:./,T+-]+)\Z", re.IGNORECASE)
"""What a log writes before the bytes of an answer; behind any other word a lone number is no answer."""
_STAMP = re.compile(r"^\s*[(\[]?\d[\d:./T-]*[:.][\d:./T-]*[)\]]?\s+")
_WORDS = {
    "NO DATA": "the car gave no answer to a question (NO DATA)",
    "UNABLE TO CONNECT": "the adapter found no control unit: ignition on? (UNABLE TO CONNECT)",
    "BUS INIT": "", "SEARCHING": "", "STOPPED": "the adapter was interrupted (STOPPED)",
    "BUFFER FULL": "the adapter lost part of an answer (BUFFER FULL)",
    "CAN ERROR": "the adapter had trouble on the bus (CAN ERROR)",
    "BUS ERROR": "the adapter had trouble on the bus (BUS ERROR)",
    "BUS BUSY": "the bus was busy (BUS BUSY)", "FB ERROR": "the adapter had trouble on the bus (FB ERROR)",
    "DATA ERROR": "an answer arrived damaged (DATA ERROR)", "RX ERROR": "an answer arrived damaged (RX ERROR)",
    "LV RESET": "the adapter lost its supply and started again (LV RESET)", "ACT ALERT": "",
}  # fmt: skip


@dataclass(frozen=True)
class Message:
    """One whole answer. `unit`: identifier or address of the control unit, empty if the text tells none.

    `data` starts with the service byte. `can`: True on CAN, False on an older link, None if not told.
    """

    unit: str
    data: bytes
    can: bool | None


@dataclass(frozen=True)
class Framed:
    """All messages in order, what was said besides, how many lines were not understood, and if one asked to clear."""

    messages: tuple[Message, ...]
    remarks: tuple[str, ...]
    unread: int
    first_unread: str
    clear_asked: bool


@dataclass
class _Open:
    """A message of several parts that is not complete yet."""

    length: int
    data: bytearray
    expected: int = 1


@dataclass
class _Reading:
    messages: list[Message] = field(default_factory=list)
    remarks: dict[str, None] = field(default_factory=dict)
    unread: list[str] = field(default_factory=list)
    open: dict[str, _Open] = field(default_factory=dict)
    lengths: list[int] = field(default_factory=list)  # announced in the numbered form, not begun yet
    numbered: list[_Open] = field(default_factory=list)
    clear_asked: bool = False


def read_lines(lines: Iterable[str]) -> Framed:
    """The messages in these lines of text. Never raises, whatever the text."""
    state = _Reading()
    for line in lines:
        for part in line.replace("\r", "\n").split("\n"):
            text = part.strip(" >\t\x00")
            if text:
                _line(state, text)
    for unit, half in state.open.items():
        _lost(state, unit, half)
    for half in state.numbered:
        _lost(state, "", half)
    first = state.unread[0][:40] if state.unread else ""
    return Framed(tuple(state.messages), tuple(state.remarks), len(state.unread), first, state.clear_asked)


def _lost(state: _Reading, unit: str, half: _Open) -> None:
    where = f" of control unit {unit}" if unit else ""
    state.remarks[f"a long answer{where} is incomplete: {len(half.data)} of {half.length} bytes. Read it again."] = None


def _line(state: _Reading, text: str) -> None:
    plain = text.replace(" ", "")
    if _HEX.match(plain):
        _hex_line(state, text, plain)
        return
    hashed = _CAN_HASH.search(text)
    if hashed:
        _can(state, hashed[1].upper(), bytes.fromhex(_even(hashed[2])))
        return
    part = _PART.match(text)
    if part:
        _numbered_part(state, int(part[1], 16), bytes.fromhex(_even(re.sub(r"\s", "", part[2]))))
        return
    _words(state, text)


def _even(digits: str) -> str:
    return digits[: len(digits) // 2 * 2]


def _words(state: _Reading, text: str) -> None:
    """Not hex alone: words of the adapter, or a log line with a time or a label before the bytes."""
    upper = text.upper()
    for word, remark in _WORDS.items():
        if word in upper:
            if remark:
                state.remarks[remark] = None
            return
    if upper.startswith(("AT", "#", "OK", "?")) or _OWN_NAME.search(upper):
        return
    rest = _STAMP.sub("", text)
    rest = re.sub(r"\[\d\]", " ", rest)
    tokens = rest.split()
    while tokens and not re.fullmatch(r"[0-9A-Fa-f]{2,}", tokens[0]):
        tokens.pop(0)
    short = " ".join(tokens)
    labels = rest.split()[: len(rest.split()) - len(tokens)]
    known = all(_LABEL.match(word) for word in labels) or (len(tokens) > 2 and all(len(t) == 2 for t in tokens[1:]))
    if tokens and short != text and known and _HEX.match("".join(tokens)):
        _hex_line(state, short, "".join(tokens))
    else:
        state.unread.append(text)


def _hex_line(state: _Reading, text: str, plain: str) -> None:
    announced = _LENGTH.match(text)
    if announced:
        state.lengths.append(int(announced[1], 16))
        return
    upper = plain.upper()
    if len(plain) % 2:
        if len(plain) > 5 and upper.startswith("7"):
            _can(state, upper[:3], bytes.fromhex(_even(upper[3:])))
        else:
            state.unread.append(text)
        return
    if upper.startswith(("18DAF1", "18DB33")) and len(upper) >= 10:
        _can(state, upper[:8], bytes.fromhex(upper[8:]))
        return
    _bare(state, text, bytes.fromhex(upper))


def _bare(state: _Reading, text: str, data: bytes) -> None:
    """Bytes without an identifier: an older link's whole frame, a response alone, or a request's echo."""
    body = _older(state, data)
    if isinstance(body, Message):
        state.messages.append(body)
    elif body is None and (data[0] in ANSWERS or (data[0] == REFUSAL and len(data) >= 3)):
        state.messages.append(Message("", data, None))
    elif body is None and data[0] <= 0x0A and len(data) <= 7:
        state.clear_asked |= data[0] == CLEAR and len(data) == 1
    elif body is None:
        state.unread.append(text)


def _older(state: _Reading, data: bytes) -> Message | Literal[False] | None:
    """A frame of an older link without its header; False if it is one but damaged or a request; None if none."""
    if len(data) < 5:
        return None
    sender = data[:2] in (b"\x48\x6b", b"\x41\x6b") or (data[0] & 0xC0 == 0x80 and data[1] == 0xF1)
    asked = data[:2] in (b"\x68\x6a", b"\x61\x6a") or (data[0] & 0xC0 == 0xC0 and data[2] == 0xF1)
    if asked and good_sum(data):
        state.clear_asked |= data[3] == CLEAR
        return False
    if not sender or not (data[3] in ANSWERS or data[3] == REFUSAL):
        return None
    if good_sum(data):
        return Message(f"{data[2]:02X}", data[3:-1], False)
    if data[0] == 0x41:
        return None  # may as well be a bare answer to service 01, item 6B
    state.remarks["an answer with a wrong checksum was left out. Read it again."] = None
    return False


def _can(state: _Reading, unit: str, data: bytes) -> None:
    """One CAN frame: single, first, consecutive, or flow control."""
    asked = unit in ("7DF", "18DB33F1") or (len(unit) == 3 and "7E0" <= unit <= "7E7")
    if not data or asked:
        state.clear_asked |= asked and data[:2] == b"\x01\x04"
        return
    kind, rest = data[0] >> 4, data[1:]
    if kind == 0 and 1 <= data[0] <= 7:
        _whole(state, unit, rest[: data[0]])
    elif kind == 1 and len(data) >= 2:
        state.open[unit] = _Open((data[0] & 15) << 8 | data[1], bytearray(data[2:]))
    elif kind == 2 and unit in state.open:
        if _extend(state, state.open[unit], data[0] & 15, rest, unit):
            del state.open[unit]
    elif kind == 2:
        state.remarks[f"a part of a long answer of control unit {unit} came without its start. Read it again."] = None
    elif kind != 3:
        state.unread.append(f"{unit} {data.hex(' ')}")


def _whole(state: _Reading, unit: str, data: bytes) -> None:
    if data and (data[0] in ANSWERS or (data[0] == REFUSAL and len(data) >= 3)):
        state.messages.append(Message(unit, bytes(data), True))
    else:
        state.unread.append(f"{unit} {data.hex(' ')}")


def _extend(state: _Reading, half: _Open, number: int, data: bytes, unit: str) -> bool:
    """Add a part; True if the message is finished, whole or broken."""
    if number != half.expected & 15:
        _lost(state, unit, half)
        return True
    half.data += data
    half.expected += 1
    if len(half.data) < half.length:
        return False
    _whole(state, unit, bytes(half.data[: half.length]))
    return True


def _numbered_part(state: _Reading, number: int, data: bytes) -> None:
    """`0: 49 02 01 ...`: the adapter's form without identifiers, its length on a line before."""
    if number == 0 and state.lengths:
        state.numbered.append(_Open(state.lengths.pop(0), bytearray(data)))
        return
    for half in state.numbered:
        if half.expected & 15 == number:
            if _extend(state, half, number, data, ""):
                state.numbered.remove(half)
            return
    state.remarks["a part of a long answer came without its start. Read it again."] = None
