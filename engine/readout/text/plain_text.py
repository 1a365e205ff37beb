"""Text as people type or print a readout, line by line -> car data; what is bytes is left for the framing.

Codes and values in plain sight are taken (see `code_text`, `value_text`). A heading holds for the
lines below it: `Pending codes`, `Freeze frame`, `Idle:`. Tables (CSV) have a value a row, or a value a
column below a row of names. No product's layout is known here.
"""

import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from comeback.engine.readings import NUMBER, same_signs
from comeback.engine.readout.protocol.car_data import FAST, IDLE, KEY_ON, CarData, Gathered
from comeback.engine.readout.protocol.parameters import FUEL_SYSTEM
from comeback.engine.readout.protocol.trouble_codes import LISTED
from comeback.engine.readout.text.code_text import CodeLine, mask_codes, read_code_line
from comeback.engine.readout.text.value_text import STATE, NamedValue, read_values

_BYTES = re.compile(r"(?:\b[0-9A-Fa-f]{2}[ \t]+){2,}[0-9A-Fa-f]{2}\s*\Z")
_ONLY_HEX = re.compile(r"[\s>0-9A-Fa-f:]*\Z")
_CODES_ONLY = re.compile(r"\s*(?:[BbCc][0-3][0-9A-Fa-f]{3}[\s,;]*)+\Z")
_FRAME = re.compile(r"\b(freeze[ -]?frame|frozen)\b", re.I)
_LIVE = re.compile(r"\A\W*(live|current) (data|values)\W*\Z|\A\W*(other |all )?(live )?values\W*\Z", re.I)
_STATE_LINE = re.compile(
    r"\A\W*(?:(?:warm |hot |at |the |engine )*(?:idle|idling)|(?:at |holding |held )*2500(?: ?rpm)?"
    r"|key[ -]on(?:,? (?:and )?engine[ -]off)?|koeo|ignition on,? engine off)[\s:,;|-]*\Z",
    re.I,
)
_NUMBER = re.compile(NUMBER)
_SAID = re.compile(STATE, re.I)
_LOOP = re.compile(r"\b(closed|open)[ -]loop\b", re.I)
_NEGATED = re.compile(r"\b(not|no|never|if)\b", re.I)


@dataclass(frozen=True)
class PlainText:
    """What the text says, and the lines that were not understood."""

    data: CarData
    rest: tuple[str, ...]


@dataclass
class _Reading:
    """What was read so far, and the headings in force: kinds of codes, engine state, freeze frame."""

    section: str | None
    kinds: tuple[str, ...] = ()
    frame: bool = False
    got: Gathered = field(default_factory=Gathered)
    columns: list[str] = field(default_factory=list)
    row: int = 0
    denied: dict[str, str] = field(default_factory=dict)
    doubts: dict[str, None] = field(default_factory=dict)


def read_plain(lines: Iterable[str], state: str | None = None) -> PlainText:
    """Everything said in plain text; `state`: the engine state of values that no heading names. Never raises."""
    reading, rest = _Reading(state), []
    for line in lines:
        text = line.strip(" >\t\r\n\x00\ufeff")
        is_bytes = (_BYTES.search(text) or _ONLY_HEX.match(text)) and not _CODES_ONLY.match(text)
        if text and (is_bytes or not sum(_line(reading, row) for row in _rows(reading, text))):
            rest.append(line)
    got, kinds = reading.got, reading.got.codes
    listed = kinds.pop(LISTED, None)  # a code that a line gives a kind is not listed again without
    left = {code: None for code in listed or () if not any(code in codes for codes in kinds.values())}
    if left or (listed is not None and not kinds):
        kinds[LISTED] = left
    for code, why in reading.denied.items():
        text = f"{code} is not taken: its line says '{why}'. If it is there now, type it: comeback readout {code}"
        got.remarks[text] = None
    got.remarks.update(reading.doubts)
    return PlainText(got.done(), tuple(rest))


def _rows(reading: _Reading, text: str) -> list[str]:
    """A row of a table as lines of name, number and unit; anything else as it is."""
    sign = next((sign for sign in ";\t|" if sign in text), ",")
    cells = [cell.strip() for cell in next(csv.reader([re.sub(r"[\0\r\n]", " ", text[:9999])], delimiter=sign), [])]
    numbers = [bool(_NUMBER.fullmatch(same_signs(cell))) for cell in cells]
    reading.row += 1
    if len(cells) == len(reading.columns) and sum(numbers) > 1:
        named = zip(reading.columns, cells, numbers, strict=True)
        return [f"{name}: {cell}" for name, cell, is_number in named if is_number]
    reading.row = 0
    if numbers in ([False, True], [False, True, False]):
        return [f"{cells[0]}: {' '.join(cells[1:])}"]
    if len(cells) > 2 and not any(numbers):  # names, or the units below them
        below = len(cells) == len(reading.columns)
        reading.columns = list(map("{} [{}]".format, reading.columns, cells)) if below else cells
    return [text]


def _line(reading: _Reading, text: str) -> bool:
    """True if the line said something."""
    framed = bool(_FRAME.search(text)) and not _NEGATED.search(text)
    said = read_code_line(text, () if framed else reading.kinds)
    _take_codes(reading, said)
    if framed:
        reading.frame, reading.section, reading.kinds = True, None, ()
        if said.codes:
            reading.got.frame_codes[0] = said.codes[0][0]
    elif said.heading is not None or _LIVE.match(text):
        reading.frame, reading.kinds = False, said.heading or ()
    elif said.empty:  # `none` below a heading: the list is over
        reading.kinds = ()
    values, doubts = read_values(mask_codes(text))
    headed = _STATE_LINE.match(text[: values[0].start] if values else text)
    if headed:
        reading.section, reading.frame = _state_of(headed[0]), False
    _take_values(reading, text, values)
    if reading.row < 2:  # what is said of a column is said once
        reading.doubts.update(dict.fromkeys(doubts))
    if said != CodeLine() or framed or headed or values or doubts:
        return True
    loop = _LOOP.search(text)
    if loop is None or _NEGATED.search(text):
        return False
    _take(reading, FUEL_SYSTEM, 0x02 if loop[1].lower() == "closed" else 0x05, reading.section)  # see `LOOPS`
    return True


def _take_codes(reading: _Reading, said: CodeLine) -> None:
    """The last line that says anything of a code counts."""
    got = reading.got
    got.cleared |= said.cleared
    for kind in said.empty:
        got.codes.setdefault(kind, {})
    for code, why in said.denied:
        reading.denied[code] = why
        for codes in got.codes.values():
            codes.pop(code, None)
    for code, kind in said.codes:
        reading.denied.pop(code, None)
        got.codes.setdefault(kind, {})[code] = None


def _take_values(reading: _Reading, text: str, values: tuple[NamedValue, ...]) -> None:
    said = [(match.start(), _state_of(match[0])) for match in _SAID.finditer(text)]
    for one in values:
        here = [state for at, state in said if one.start <= at < one.end + 2]
        _take(reading, one.key, one.value, here[0] if here else said[0][1] if len(said) == 1 else reading.section)


def _take(reading: _Reading, key: str, value: float, state: str | None) -> None:
    if key.startswith("MIS"):
        reading.got.misfires[int(key[3:])] = max(0, round(value))
    elif reading.frame:
        reading.got.frames.setdefault(0, {})[key] = value
    else:
        reading.got.values.append((state, key, value))


def _state_of(words: str) -> str:
    plain = words.lower()
    return IDLE if "idl" in plain else FAST if "2500" in plain else KEY_ON
