"""Text as people type or print a readout, line by line -> car data; what is bytes is left for the framing.

Codes and values in plain sight are taken (see `code_text`, `value_text`). A heading holds for the
lines below it: `Pending codes`, `Freeze frame`, `Idle:`. No product's layout is known here.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from comeback.engine.readout.protocol import j1979
from comeback.engine.readout.protocol.car_data import (
    FAST,
    IDLE,
    KEY_ON,
    CarData,
    FreezeFrame,
    Sample,
    merge,
    samples_of,
)
from comeback.engine.readout.text.code_text import CodeLine, mask_codes, read_code_line
from comeback.engine.readout.text.value_text import STATE, NamedValue, read_values

_BYTES = re.compile(r"(?:\b[0-9A-Fa-f]{2}[ \t]+){2,}[0-9A-Fa-f]{2}\s*\Z|#[0-9A-Fa-f]{2,}\s*\Z")
_ONLY_HEX = re.compile(r"[\s>0-9A-Fa-f:]*\Z")
_CODES_ONLY = re.compile(r"\s*(?:[BbCc][0-3][0-9A-Fa-f]{3}[\s,;]*)+\Z")
_FRAME = re.compile(r"\b(freeze[ -]?frame|frozen)\b", re.I)
_LIVE = re.compile(r"\A\W*(live|current) (data|values)\W*\Z|\A\W*(other |all )?(live )?values\W*\Z", re.I)
_STATES = {
    IDLE: r"(?:warm |hot |at |the |engine )*(?:idle|idling)", FAST: r"(?:at |holding |held )*2500(?: ?rpm)?",
    KEY_ON: r"key[ -]on(?:,? (?:and )?engine[ -]off)?|koeo|ignition on,? engine off",
}  # fmt: skip
_STATE_LINE = {state: re.compile(rf"\A\W*(?:{words})[\s:,;|-]*\Z", re.I) for state, words in _STATES.items()}
_SAID = re.compile(STATE, re.I)
_LOOP = re.compile(r"\b(closed|open)[ -]loop\b", re.I)
_NEGATED = re.compile(r"\b(not|no|never|if)\b", re.I)
OPEN_LOOP, CLOSED_LOOP = 0x05, 0x02
"""Status of the fuel system by data item 03; a text that says open loop does not say which of its two kinds."""


@dataclass(frozen=True)
class PlainText:
    """What the text says, and the lines that were not understood."""

    data: CarData
    rest: tuple[str, ...]


@dataclass
class _State:
    kinds: tuple[str, ...] = ()
    section: str | None = None
    frame: bool = False
    codes: dict[str, dict[str, None]] = field(default_factory=dict)
    denied: dict[str, str] = field(default_factory=dict)
    frame_code: str = ""
    frame_values: dict[str, float] = field(default_factory=dict)
    frame_system: int | None = None
    named: dict[str, dict[str, float]] = field(default_factory=dict)
    systems: dict[str, int] = field(default_factory=dict)
    live: list[j1979.Value | j1979.FuelSystem] = field(default_factory=list)
    misfires: dict[int, int] = field(default_factory=dict)
    cleared: bool = False
    doubts: dict[str, None] = field(default_factory=dict)
    rest: list[str] = field(default_factory=list)


def read_plain(lines: Iterable[str], state: str | None = None) -> PlainText:
    """Everything said in plain text; `state`: the engine state of values that no heading names. Never raises."""
    got = _State(section=state)
    for line in lines:
        for part in line.replace("\r", "\n").split("\n"):
            text = part.strip(" >\t\x00\ufeff")
            if text and (_is_bytes(text) or not _line(got, text)):
                got.rest.append(part)
    return PlainText(_data(got), tuple(got.rest))


def _is_bytes(text: str) -> bool:
    return bool(_BYTES.search(text) or _ONLY_HEX.match(text)) and not _CODES_ONLY.match(text)


def _line(got: _State, text: str) -> bool:
    """True if the line said something."""
    framed = bool(_FRAME.search(text)) and not _NEGATED.search(text)
    said = read_code_line(text, () if framed else got.kinds)
    _take_codes(got, said)
    if framed:
        got.frame, got.section, got.kinds = True, None, ()
        got.frame_code = said.codes[0][0] if said.codes else got.frame_code
    elif said.heading is not None or _LIVE.match(text):
        got.frame, got.kinds = False, said.heading or ()
    elif said.empty:  # `none` below a heading: the list is over
        got.kinds = ()
    values, doubts = read_values(mask_codes(text))
    headed = _state_of(got, text[: values[0].start] if values else text)
    _take_values(got, text, values)
    got.doubts.update(dict.fromkeys(doubts))
    return said.understood or framed or headed or bool(values or doubts) or _loop(got, text)


def _take_codes(got: _State, said: CodeLine) -> None:
    """The last line that says anything of a code counts."""
    got.cleared |= said.cleared
    for kind in said.empty:
        got.codes.setdefault(kind, {})
    for code, why in said.denied:
        got.denied[code] = why
        for codes in got.codes.values():
            codes.pop(code, None)
    for code, kind in said.codes:
        got.denied.pop(code, None)
        got.codes.setdefault(kind, {})[code] = None


def _state_of(got: _State, text: str) -> bool:
    """A heading that names the engine state, alone or before the values of its line."""
    for state, pattern in _STATE_LINE.items():
        if pattern.match(text):
            got.section, got.frame = state, False
            return True
    return False


def _take_values(got: _State, text: str, values: tuple[NamedValue, ...]) -> None:
    said = [(match.start(), _meant(match[0])) for match in _SAID.finditer(text)]
    for one in values:
        here = [state for at, state in said if one.start <= at < one.end + 2]
        state = here[0] if here else said[0][1] if len(said) == 1 else got.section
        if one.key.startswith("MIS"):
            got.misfires[int(one.key[3:])] = max(0, round(one.value))
        elif got.frame:
            got.frame_values[one.key] = one.value
        elif state:
            got.named.setdefault(state, {})[one.key] = one.value
        else:
            got.live.append(j1979.Value("", one.key, one.value))


def _meant(words: str) -> str:
    plain = words.lower()
    return IDLE if "idle" in plain else FAST if "2500" in plain else KEY_ON


def _loop(got: _State, text: str) -> bool:
    match = _LOOP.search(text)
    if match is None or _NEGATED.search(text):
        return False
    status = CLOSED_LOOP if match[1].lower() == "closed" else OPEN_LOOP
    if got.frame:
        got.frame_system = status
    elif got.section:
        got.systems[got.section] = status
    else:
        got.live.append(j1979.FuelSystem("", status))
    return True


def _data(got: _State) -> CarData:
    named = {
        state: Sample(state, got.named.get(state, {}), got.systems.get(state), named=True)
        for state in {**got.named, **got.systems}
    }
    remarks = [
        f"{code} is not taken: its line says '{why}'. If it is there now, type it: comeback readout {code}"
        for code, why in got.denied.items()
    ]
    frame = (
        FreezeFrame(got.frame_code, got.frame_values, got.frame_system) if got.frame_values or got.frame_code else None
    )
    told = CarData(
        codes=_codes(got.codes), samples=samples_of(got.live, None),
        freeze_frame=frame, misfires=got.misfires, cleared=got.cleared, remarks=(*remarks, *got.doubts),
    )  # fmt: skip
    return merge([told, CarData(samples=named)])


def _codes(by_kind: dict[str, dict[str, None]]) -> dict[str, tuple[str, ...]]:
    """Codes by kind; one that a line gives a kind is not listed again without."""
    told = {code for kind, codes in by_kind.items() if kind != j1979.LISTED for code in codes}
    out = {kind: tuple(codes) for kind, codes in by_kind.items()}
    listed = out.pop(j1979.LISTED, None)
    left = tuple(code for code in listed or () if code not in told)
    return {**out, j1979.LISTED: left} if left or (listed is not None and not out) else out
