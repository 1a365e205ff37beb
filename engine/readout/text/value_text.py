"""Named values in text as people type or print it -> value by key: `RPM 780`, `LTFT B1: 12,5%`, `ECT 92 C`.

A value is taken only if its name and its unit leave no doubt; one without a needed unit, with a
foreign one, or with a dash that may be a minus is named and left out. Names are those of SAE J1979
and what people say for them.
"""

import re
from dataclasses import dataclass

from comeback.engine.errors import BadReading
from comeback.engine.readings import NUMBER, read_number, same_signs
from comeback.engine.readout.protocol.parameters import BY_KEY

_TEMP = r"(?:[ .]*temp(?:erature)?\.?)"
_BANK = r"(?:[ ,]*\(?(?:b(?:ank)?[ -]?)?(?P<{}>[12])\)?(?![\d.,]*\s*%)(?!\d|[.,]\d))?"
_SINCE = r"since (?:the )?(?:codes? |dtcs? )?(?:were |was )?clear(?:ed|ing)"
_TRIM = r"(?:[ -]?term)?[ -]?(?:fuel[ -]?)?trim"
_NAMES = (  # key, how it is named; the first that fits at a place counts
    ("WARMUPS", rf"warm[ -]?ups? {_SINCE}"),
    ("CLEARKM", rf"distance (?:travel+ed )?{_SINCE}"),
    ("CLEARMIN", rf"(?:engine run )?time (?:run )?{_SINCE}"),
    ("MILKM", r"distance (?:travel+ed )?(?:with|while) (?:the )?(?:mil|lamp|light)(?: is| was)?(?: on)?"),
    ("MIS", r"misfires?(?: counts?)?,?(?: of| in| on)? cyl(?:inder)?\.? ?(?P<c1>\d{1,2})(?= *[:=])"),
    ("MIS", r"cyl(?:inder)?\.? ?(?P<c2>\d{1,2}) misfires?(?: counts?)?(?= *[:=])"),
    ("STFT", rf"(?:b(?:ank)? ?(?P<s0>[12]) )?(?:stft|short{_TRIM})" + _BANK.format("s1")),
    ("LTFT", rf"(?:b(?:ank)? ?(?P<l0>[12]) )?(?:ltft|(?:long|learned){_TRIM})" + _BANK.format("l1")),
    ("TARGET", r"(?:target|desired|wanted)(?: engine)?(?: idle)?(?: speed| rpm)?|idle target|target idle"),
    ("RPM", r"(?:engine|idle)[ -](?:speed|rpm)|rpm|revs"),
    ("OIL", rf"(?:engine )?oil{_TEMP}"),
    ("ECT", rf"ect|(?:engine )?coolant{_TEMP}?"),
    ("IAT", rf"iat|intake(?: air)?{_TEMP}"),
    ("AMBIENT", rf"(?:ambient|outside)(?: air)?{_TEMP}"),
    ("VAC", r"(?:(?:intake )?manifold |engine )?vacuum"),
    ("BARO", r"baro(?:met(?:er|ric))?(?: pressure)?"),
    ("MAP", r"(?:intake )?manifold(?: absolute)? pressure|map"),
    ("MAF", r"mass[ -]air[ -]?flow(?: rate)?|maf|air[ -]?flow(?: rate)?"),
    ("ABSLOAD", r"absolute load(?: value)?"),
    ("LOAD", r"(?:calculated |calc\.? |engine )?load(?: value)?"),
    ("TPS", r"throttle(?: position)?|tps"),
    ("SPEED", r"(?:vehicle |road )speed|vss|speed"),
    ("VOLT", r"(?:battery|system|charging|(?:control )?module)(?: voltage)?|voltage"),
    ("RAIL", r"(?:fuel )?rail pressure"),
    ("TIMING", r"(?:ignition |spark )?(?:timing(?: advance)?|advance)"),
    ("PURGE", r"(?:evap )?purge(?: duty)?"),
    ("FUEL", r"fuel level"),
)
_NAME = "|".join(f"(?P<k{i}>{pattern})" for i, (_, pattern) in enumerate(_NAMES))
_UNIT = (
    r'(?:percent|pct|%|(?:°|deg(?:rees?)?\.?) ?[cf]|deg(?:rees)?|°|[cf]|kpa|hpa|mbar|bar|mpa|psi|in\.? ?hg|"hg|'
    r"r?pm|1/min|/min|g/s|gps|lb/min|mv|volts?|v|km/h|kmh|kph|mph|km|miles?|mi|minutes?|mins?|seconds?|secs?|s)"
    r"(?![a-z/])"
)
STATE = r"(?:at |@ ?)(?:warm |hot |an? )?(?:idle|2500(?: ?rpm)?|key[ -]on|koeo)\b"
"""How a state is said beside a value: `LTFT at idle 12 %`."""
_VALUE = re.compile(
    rf"(?<![a-z0-9])(?:{_NAME})(?![a-z0-9])(?:[ \t]*[\[(](?P<u0>{_UNIT})[\])]|[ \t]+(?P<u1>{_UNIT})(?=[ \t:=|]))?"
    rf"(?:[ \t]*{STATE})?(?:[ \t]*(?:[:=|~]|\.{{2,}}|\b(?:is|reads|shows|of|about|at)\b))*"
    rf"(?P<dash>[ \t]+-[ \t]+|[ \t]*)(?!,)(?P<number>{NUMBER})(?:[ \t]*(?P<unit>{_UNIT}))?",
    re.I,
)
_SPOILT = re.compile(r"[ \t]?[\d]|[.,/]\d|[ \t]*(?:-|to\b|\.\.)[ \t]*[-+]?\d|[ \t]*\?", re.I)
_NOT_MEASURED = re.compile(
    r"\b(no|not|if|should|spec(ified|ification)?|normal(ly)?|usual(ly)?|nominal|limit|min(imum)?|max(imum)?|expected|"
    r"target|desired|wanted|commanded|old|cleared|was)[ :(]*(be |is )*\Z",
    re.I,
)
_NO_UNIT_NEEDED = frozenset(("RPM", "STFT1", "STFT2", "LTFT1", "LTFT2", "WARMUPS"))
_SPEED_ALONE = re.compile(
    r"(?:\A|[,;|])[ \t]*(?:(?:at )?(?:warm )?idle[ :,]*)?(?P<number>\d[\d.,]*)[ \t]*rpm\b(?=[ \t]*(?:[,;|.]|\Z))", re.I
)
_LOOSE = re.compile(rf"(?<![\w.,]){NUMBER}[ \t]*(?:%|percent|kpa|psi|bar|rpm|g/s|inhg|°|km/h|mph|v(?:olts?)?\b)", re.I)


@dataclass(frozen=True)
class NamedValue:
    """A value in the unit of its key, and where it stands in the line."""

    key: str
    value: float
    start: int
    end: int


def read_values(text: str) -> tuple[tuple[NamedValue, ...], tuple[str, ...]]:
    """(values without doubt in order, sentences about what was left out). `text` is one line. Never raises."""
    text = same_signs(text)
    values: list[NamedValue] = []
    doubts: list[str] = []
    left = list(text)
    for match in _VALUE.finditer(text):
        left[match.start() : match.end()] = " " * (match.end() - match.start())
        shown = " ".join(match[0].split())
        if _NOT_MEASURED.search(text[: match.start()]) or _SPOILT.match(text, match.end()):
            doubts.append(f"'{shown}' is not taken: the text does not say that it was measured, or gives a range.")
            continue
        key = _key(match)
        try:
            values.append(NamedValue(key, _value(key, match), match.start(), match.end()))
        except BadReading as error:
            doubts.append(f"'{shown}' is not taken: {error}")
    for match in _SPEED_ALONE.finditer("".join(left)):
        left[match.start("number") : match.end()] = " " * (match.end() - match.start("number"))
        values.append(NamedValue("RPM", read_number(match["number"], "rpm"), match.start("number"), match.end()))
    values.sort(key=lambda value: value.start)
    rest = re.sub(STATE, "", "".join(left), flags=re.I)
    doubts += [
        f"'{loose[0].strip()}' is not taken: no name of a value stands before it." for loose in _LOOSE.finditer(rest)
    ]
    return tuple(values), tuple(doubts)


def _key(match: re.Match[str]) -> str:
    name = next(name for i, (name, _) in enumerate(_NAMES) if match[f"k{i}"])
    number = next((match[group] for group in ("c1", "c2", "s0", "s1", "l0", "l1") if match[group]), "1")
    return f"{name}{int(number)}" if name in ("MIS", "STFT", "LTFT") else name


def _value(key: str, match: re.Match[str]) -> float:
    """The number in the key's unit. Raises BadReading: a doubt about sign, unit or size."""
    if key not in BY_KEY:
        raise BadReading("there is no such cylinder.")
    own, low = BY_KEY[key].unit, BY_KEY[key].offset
    high = low + BY_KEY[key].scale * (256 ** BY_KEY[key].size - 1)
    unit = match["unit"] or match["u0"] or match["u1"]
    if unit is None and key not in _NO_UNIT_NEEDED and not key.startswith("MIS"):
        raise BadReading(f"it has no unit. Write it with {own}, or another that goes into it.")
    number = match["number"].removeprefix("- ")
    if low < 0 and (match["dash"].strip() or number != match["number"]):
        raise BadReading("the dash may be a minus. Write -5 or : 5.")
    value = read_number(f"{number} {unit or ''}".strip(), own)
    if not low <= value <= high:
        raise BadReading(f"{value:.4g} {own} is not possible.")
    return value
