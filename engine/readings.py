"""Typed numbers with units -> a value in the check's unit and the result whose band it falls into."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from comeback.engine.errors import BadReading
from comeback.kb.schema import Check, Reading

NUMBER = (
    r"[-+]?\s?(?:[1-9]\d{0,2}(?:[ ']\d{3})+(?:[.,]\d+)?"  # 12 400  12'400  1 200,5
    r"|[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?"  # 12,400  1,200.5
    r"|[1-9]\d{0,2}(?:\.\d{3})+,\d+|[1-9]\d{0,2}(?:\.\d{3}){2,}"  # 1.200,5  1.200.000
    r"|\d*[.,]?\d+)"
)
"""A number as people write it, after `same_signs`; a point or comma before other than three digits is decimal."""
_NUMBER = re.compile(rf"\s*({NUMBER})\s*([^\d\s.,].*)?\Z")
_BEGINS = re.compile(r"\s*[-+]?\s?[.,]?\d")
_THOUSANDS = re.compile(r"[-+]?[1-9]\d{0,2}(,\d{3})+\Z")
_SAME = str.maketrans(
    {"\u2212": "-", "\u2013": "-", "\u2010": "-", "\u2011": "-", "\u2019": "'", "\u00a0": " ", "\u202f": " ",
     "\u2009": " ", "\u2007": " ", "\u00ba": "\u00b0"}
)  # fmt: skip

# unit -> (quantity, factor to the quantity's base unit, offset). Exact by definition unless noted:
# inch 25.4 mm, pound-force and standard gravity (NIST SP 811, from memory); inHg at 0 degC 3.38639 kPa.
_UNITS: Mapping[str, tuple[str, float, float]] = {
    "kpa": ("pressure", 1.0, 0.0),
    "psi": ("pressure", 6.894757, 0.0),
    "bar": ("pressure", 100.0, 0.0),
    "mpa": ("pressure", 1000.0, 0.0),
    "hpa": ("pressure", 0.1, 0.0),
    "mbar": ("pressure", 0.1, 0.0),
    "inhg": ("pressure", 3.38639, 0.0),
    "v": ("voltage", 1.0, 0.0),
    "mv": ("voltage", 0.001, 0.0),
    "degc": ("temperature", 1.0, 0.0),
    "degf": ("temperature", 5 / 9, -160 / 9),
    "%": ("share", 1.0, 0.0),
    "rpm": ("speed", 1.0, 0.0),
    "g/s": ("airflow", 1.0, 0.0),
    "s": ("time", 1.0, 0.0),
    "min": ("time", 60.0, 0.0),
    "points": ("points", 1.0, 0.0),
    "mm": ("length", 1.0, 0.0),
    "ohm": ("resistance", 1.0, 0.0),
    "a": ("current", 1.0, 0.0),
    "ma": ("current", 0.001, 0.0),
    "count": ("count", 1.0, 0.0),
    "km/h": ("road speed", 1.0, 0.0),
    "mph": ("road speed", 1.609344, 0.0),
    "km": ("distance", 1.0, 0.0),
    "mile": ("distance", 1.609344, 0.0),
    "m": ("distance", 0.001, 0.0),
    "ft": ("distance", 0.0003048, 0.0),
}
_SPELLINGS = {
    "volt": "v", "volts": "v", "c": "degc", "°c": "degc", "f": "degf", "°f": "degf", "percent": "%", "pct": "%",
    "in hg": "inhg", '"hg': "inhg", "inches of mercury": "inhg", "1/min": "rpm", "sec": "s", "seconds": "s",
    "second": "s", "minutes": "min", "minute": "min", "amp": "a", "amps": "a", "ohms": "ohm", "point": "points",
    "counts": "count", "gps": "g/s", "deg c": "degc", "deg f": "degf", "° c": "degc", "° f": "degf", "/min": "rpm",
    "degrees c": "degc", "degrees f": "degf", "kmh": "km/h", "kph": "km/h", "miles": "mile", "mi": "mile",
    "deg": "degrees", "°": "degrees", "degree": "degrees", "in. hg": "inhg", "mins": "min",
}  # fmt: skip


@dataclass(frozen=True)
class Banded:
    """A reading in the check's unit, as typed, and the result it means."""

    value: float
    unit: str
    result: str
    typed: str

    def __str__(self) -> str:
        """`30 psi = 207 kPa` when the unit was converted, else `52 kPa`."""
        own = f"{self.value:.4g} {self.unit}"
        return own if same_unit(self.typed, self.unit) else f"{self.typed} = {own}"


def same_signs(text: str) -> str:
    """The text with every minus, blank and apostrophe that print and phones make as the plain one."""
    return text.translate(_SAME)


def begins_a_number(text: str) -> bool:
    """True if what was typed is meant as a number: `12`, `+ 6,5 %`, `.5`."""
    return bool(_BEGINS.match(same_signs(text)))


def same_unit(typed: str, unit: str) -> bool:
    """True if `typed` carries no unit or the same as `unit`."""
    match = _NUMBER.match(same_signs(typed))
    return not (match and match.group(2)) or _key(match.group(2)) == _key(unit)


def read_number(text: str, unit: str) -> float:
    """The number in `text`, converted to `unit`. Raises BadReading: not a number, or another quantity."""
    match = _NUMBER.match(same_signs(text))
    if not match:
        raise BadReading(f"'{text.strip()}' is not a number. Type a number, as 12.4 or 12.4 {unit}.")
    number, typed = match.groups()
    value = float(_point(number))
    return value if typed is None else _convert(value, typed, unit)


def _point(number: str) -> str:
    """`12,4` is twelve point four; `1,200` is twelve hundred, `0,125` an eighth; blanks group digits."""
    number = number.replace(" ", "").replace("'", "")
    if "." in number and "," in number:
        group, point = (",", ".") if number.rindex(".") > number.rindex(",") else (".", ",")
        return number.replace(group, "").replace(point, ".")
    if number.count(".") > 1:
        return number.replace(".", "")
    return number.replace(",", "") if _THOUSANDS.match(number) else number.replace(",", ".")


def _key(unit: str) -> str:
    plain = " ".join(unit.strip().lower().split()).rstrip(".")
    return _SPELLINGS.get(plain, plain)


def _convert(value: float, typed: str, unit: str) -> float:
    if _key(typed) == _key(unit):
        return value
    source, target = _UNITS.get(_key(typed)), _UNITS.get(_key(unit))
    if source is None or target is None or source[0] != target[0]:
        raise BadReading(f"'{typed.strip()}' is not a unit for this reading. Type the number in {unit}.")
    return (value * source[1] + source[2] - target[2]) / target[1]


def band(check: Check, text: str) -> Banded:
    """The result that the typed reading means for `check`.

    Raises BadReading if it is no number, has a foreign unit, or is not possible for a real reading.
    """
    reading = check.reading
    if reading is None:
        raise BadReading(f"'{check.name}' takes no number. Pick one of its results.")
    value = read_number(text, reading.unit)
    low, high = reading.possible
    if not low <= value <= high:
        raise BadReading(
            f"{value:.4g} {reading.unit} is outside {low:g} to {high:g} {reading.unit}: not a real reading. "
            "Look again, or answer d (don't know)."
        )
    return Banded(value, reading.unit, _result(reading, value), text.strip())


def _result(reading: Reading, value: float) -> str:
    for result, (low, high) in reading.bands.items():
        if low <= value < high:
            return result
    return max(reading.bands, key=lambda name: reading.bands[name][1])  # the upper end itself


PLAIN: Mapping[str, tuple[tuple[float, float], ...]] = {
    "rpm": ((500, 1500),), "kPa": ((85, 105), (240, 450)), "V": ((11, 15),), "mm": ((0.5, 1.6),),
    "degC": ((70, 115),), "inHg": ((15, 22),),
}  # fmt: skip
"""What a display usually shows of the quantity itself: idle speed, barometer and fuel pressure, battery, gap, warm
engine, vacuum at idle (common practice, no source). It tells such a value from a difference, and judges nothing."""
_DIFFERENCE = re.compile(r"\b(against|apart|lost|drop|falls by|rises by)\b", re.IGNORECASE)


def asked_back(check: Check, text: str) -> str:
    """Empty if the typed reading is plain, else the question to ask before it is taken; `y` takes it as a reading.

    In doubt: a number without unit that may also be the number of a line on the screen and then means
    another result; and a value of the quantity itself where its difference is asked. Raises BadReading as `band`.
    """
    line = _line(check, text)
    try:
        banded = band(check, text)
    except BadReading as error:
        raise BadReading(f"{error} For line {text.strip()} type {line}." if line else str(error)) from None
    if line is not None and line != banded.result:
        return (
            f"Did you mean line {text.strip()} ({check.results[line]}) or the reading {banded}? "
            f"Type {line} for the line, y for the reading."
        )
    if is_difference(check) and any(low <= banded.value <= high for low, high in PLAIN.get(banded.unit, ())):
        return (
            f"Is {banded} the difference, or the value that is displayed? '{check.name}' asks for the difference. "
            "Type y if it is, else the difference."
        )
    return ""


def is_difference(check: Check) -> bool:
    """True if the check reads how far something is off or falls; its name or first result says so."""
    return check.reading is not None and bool(_DIFFERENCE.search(f"{check.name}; {check.results[check.expected]}"))


def _line(check: Check, text: str) -> str | None:
    """The result whose line on the screen has this bare number, if any."""
    plain = text.strip()
    return check.names[int(plain) - 1] if re.fullmatch("[1-9]", plain) and int(plain) <= len(check.names) else None
