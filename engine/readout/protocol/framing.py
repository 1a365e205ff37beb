"""Lines of text from an adapter or a captured log -> messages of control units, one from each answer.

Understood: bare response bytes; CAN with 11- or 29-bit identifiers; several parts of one message (ISO 15765-2)
with identifiers or in the adapter's numbered form; older links with three header bytes and a checksum (SAE
J1850, ISO 9141-2, ISO 14230-4). Adapters' words become remarks. Whatever is not understood is kept aside and
never guessed at. The standards were not read (from memory).
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import takewhile

ANSWERS = range(0x41, 0x4B)
"""First byte of a positive response: service number plus 0x40."""
REFUSAL = 0x7F
"""First byte of an answer that refuses the service."""

_HEX = re.compile(r"[0-9A-Fa-f]+\Z")
_LENGTH = re.compile(r"[0-9A-Fa-f]{3}\Z")
_PART = re.compile(r"([0-9A-Fa-f]):\s*([0-9A-Fa-f\s]*)\Z")
_OWN_NAME = re.compile(r"\bV\d+\.\d+\w*\Z")  # how an adapter names itself: a word and its version
_LABEL = re.compile(r"(?:<|>|<-|->|[RT]X[:>]?|recv:?|sent:?|can\d:?|[0-9A-F]+:?|[\d:./,T+()\[\]-]+)\Z", re.IGNORECASE)
"""What a log writes before the bytes of an answer; behind any other word a lone number is no answer."""
_DAMAGED, _BUS = "an answer arrived damaged", "the adapter had trouble on the bus"
_WORDS = {
    "NO DATA": "the car gave no answer to a question", "BUS INIT": "", "SEARCHING": "", "ACT ALERT": "",
    "UNABLE TO CONNECT": "the adapter found no control unit: ignition on?", "STOPPED": "the adapter was interrupted",
    "BUFFER FULL": "the adapter lost part of an answer", "CAN ERROR": _BUS, "BUS ERROR": _BUS, "FB ERROR": _BUS,
    "BUS BUSY": "the bus was busy", "DATA ERROR": _DAMAGED, "RX ERROR": _DAMAGED,
    "LV RESET": "the adapter lost its supply and started again",
}  # fmt: skip


@dataclass(frozen=True)
class Message:
    """One whole answer. `unit`: identifier or address of the control unit, empty if the text tells none.

    `data` starts with the service byte. `can`: True on CAN, False on an older link, None if not told.
    """

    unit: str
    data: bytes
    can: bool | None


@dataclass
class _Open:
    """A message of several parts that is not complete yet."""

    unit: str
    length: int
    data: bytearray
    expected: int = 1


@dataclass
class Framed:
    """All messages in order, each remark once, and the lines that were not understood."""

    messages: list[Message] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)
    _open: list[_Open] = field(default_factory=list)
    _lengths: list[int] = field(default_factory=list)  # announced in the numbered form, not begun yet

    def read(self, lines: Iterable[str]) -> None:
        """Take the lines, then name the answers that were not completed."""
        for line in lines:
            if text := line.strip(" >\t\r\n\x00"):
                self._line(text)
        for half in list(self._open):
            self._lost(half)

    def _line(self, text: str) -> None:
        plain = text.replace(" ", "").upper()
        if _HEX.match(plain):
            self._bytes(text, plain)
        elif part := _PART.match(text):
            number, data = int(part[1], 16), bytes.fromhex(_even("".join(part[2].split())))
            if number == 0 and self._lengths:
                self._open.append(_Open("", self._lengths.pop(0), bytearray(data)))
            else:
                self._part("", number, data)
        else:
            self._words(text)

    def _remark(self, text: str) -> None:
        if text not in self.remarks:
            self.remarks.append(text)

    def _words(self, text: str) -> None:
        """Not hex alone: words of the adapter, or a log line with a time or a label before the bytes."""
        upper = text.upper()
        word = next((word for word in _WORDS if word in upper), None)
        if word:
            if _WORDS[word]:
                self._remark(f"{_WORDS[word]} ({word})")
        elif upper.startswith(("AT", "#", "OK", "?")) or _OWN_NAME.search(upper):
            return
        else:
            words = text.split()
            labels = list(takewhile(lambda word: len(word) < 2 or not _HEX.match(word), words))
            found = words[len(labels) :]
            known = all(map(_LABEL.match, labels)) or (len(found) > 2 and all(len(word) == 2 for word in found[1:]))
            if found and known and _HEX.match("".join(found)):
                self._bytes(" ".join(found), "".join(found).upper())
            else:
                self.unread.append(text)

    def _bytes(self, text: str, plain: str) -> None:
        """A line of hex digits: the length of a long answer, a frame with its identifier, or bytes alone."""
        if _LENGTH.match(text):
            self._lengths.append(int(text, 16))
        elif len(plain) % 2:
            if len(plain) > 5 and plain.startswith("7"):
                self._can(plain[:3], bytes.fromhex(_even(plain[3:])))
            else:
                self.unread.append(text)
        elif plain.startswith(("18DAF1", "18DB33")) and len(plain) >= 10:
            self._can(plain[:8], bytes.fromhex(plain[8:]))
        else:
            self._bare(text, bytes.fromhex(plain))

    def _bare(self, text: str, data: bytes) -> None:
        """Bytes without an identifier: an older link's whole frame, a response alone, or a request's echo."""
        first, header = data[0] & 0xC0, data[:2] if len(data) >= 5 else b""
        sent = bool(header) and (header in (b"\x48\x6b", b"\x41\x6b") or (first == 0x80 and data[1] == 0xF1))
        asked = bool(header) and (header in (b"\x68\x6a", b"\x61\x6a") or (first == 0xC0 and data[2] == 0xF1))
        if sent and _is_answer(data[3:-1]) and good_sum(data):
            self.messages.append(Message(f"{data[2]:02X}", data[3:-1], False))
        elif sent and _is_answer(data[3:-1]) and data[0] != 0x41:  # 41 6B may be a bare answer to service 01, item 6B
            self._remark("an answer with a wrong checksum was left out. Read it again.")
        elif _is_answer(data):
            self.messages.append(Message("", data, None))
        elif (data[0] > 0x0A or len(data) > 7) and not (asked and good_sum(data)):
            self.unread.append(text)

    def _can(self, unit: str, data: bytes) -> None:
        """One CAN frame: single, first, consecutive, or flow control; those of the tester are skipped."""
        if not data or unit in ("7DF", "18DB33F1") or (len(unit) == 3 and "7E0" <= unit <= "7E7"):
            return
        kind, low = data[0] >> 4, data[0] & 15
        if kind == 0 and 1 <= low <= 7:
            self._whole(unit, data[1 : 1 + low])
        elif kind == 1 and len(data) >= 2:
            for half in [half for half in self._open if half.unit == unit]:
                self._lost(half)
            self._open.append(_Open(unit, low << 8 | data[1], bytearray(data[2:])))
        elif kind == 2:
            self._part(unit, low, data[1:])
        elif kind != 3:
            self.unread.append(f"{unit} {data.hex(' ')}")

    def _part(self, unit: str, number: int, data: bytes) -> None:
        """A further part; without identifiers it goes to the first message that waits for its number."""
        waiting = (h for h in self._open if h.unit == unit and (unit or h.expected & 15 == number))
        half = next(waiting, None)
        if half is None:
            self._remark(f"a part of a long answer{_of(unit)} came without its start. Read it again.")
        elif number != half.expected & 15:
            self._lost(half)
        else:
            half.data += data
            half.expected += 1
            if len(half.data) >= half.length:
                self._open.remove(half)
                self._whole(unit, bytes(half.data[: half.length]))

    def _whole(self, unit: str, data: bytes) -> None:
        if _is_answer(data):
            self.messages.append(Message(unit, data, True))
        else:
            self.unread.append(f"{unit} {data.hex(' ')}")

    def _lost(self, half: _Open) -> None:
        self._open.remove(half)
        self._remark(
            f"a long answer{_of(half.unit)} is incomplete: {len(half.data)} of {half.length} bytes. Read it again."
        )


def read_lines(lines: Iterable[str]) -> Framed:
    """The messages in these lines of text. Never raises, whatever the text."""
    framed = Framed()
    framed.read(lines)
    return framed


def crc8(data: bytes) -> int:
    """CRC-8 of SAE J1850 (polynomial 0x1D, start and final exclusive-or 0xFF); 0x4B for the ASCII digits 1 to 9."""
    value = 0xFF
    for byte in data:
        value ^= byte
        for _ in range(8):
            value = (value << 1 ^ 0x1D if value & 0x80 else value << 1) & 0xFF
    return value ^ 0xFF


def good_sum(frame: bytes) -> bool:
    """True if the last byte is the checksum of those before: the sum modulo 256 (ISO 9141-2, 14230-4), or CRC-8."""
    return len(frame) > 1 and frame[-1] in (sum(frame[:-1]) & 0xFF, crc8(frame[:-1]))


def _of(unit: str) -> str:
    return f" of control unit {unit}" if unit else ""


def _even(digits: str) -> str:
    return digits[: len(digits) // 2 * 2]


def _is_answer(data: bytes) -> bool:
    return bool(data) and (data[0] in ANSWERS or (data[0] == REFUSAL and len(data) >= 3))
