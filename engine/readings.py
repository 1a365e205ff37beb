"""Typed numbers with units -> a value in the check's unit and the result whose band it falls into."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from comeback.engine.errors import BadReading
from comeback.kb.schema import Check

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

_SAME_QUANTITY: tuple[Mapping[str, float], ...] = (
    {
        "kpa": 1.0,
        "psi": 6.894757,
        "bar": 100.0,
        "mpa": 1000.0,
        "hpa": 0.1,
        "mbar": 0.1,
        "inhg": 3.38639,
        "inh2o": 0.2490889,
    },
    {"degc": 1.0, "degf": 5 / 9},
    {"v": 1.0, "mv": 0.001},
    {"a": 1.0, "ma": 0.001},
    {"s": 1.0, "min": 60.0},
    {"km/h": 1.0, "mph": 1.609344},
    {"km": 1.0, "mile": 1.609344},
    {"m": 1.0, "ft": 0.3048},
    {"mm": 1.0, "in": 25.4},
)
"""Units that convert into each other, with factors. Exact by definition unless noted: inch 25.4 mm, pound-force and
standard gravity (NIST SP 811, from memory); inHg at 0 degC 3.38639 kPa, inch of water (conventional) 249.0889 Pa."""
_ZERO = {"degf": -160 / 9}
"""What 0 of a unit is in the first unit of its quantity, if not 0."""
_SPELLINGS = {
    "volt": "v", "volts": "v", "c": "degc", "°c": "degc", "f": "degf", "°f": "degf", "percent": "%", "pct": "%",
    "in hg": "inhg", '"hg': "inhg", "inches of mercury": "inhg", "1/min": "rpm", "sec": "s", "seconds": "s",
    "second": "s", "minutes": "min", "minute": "min", "amp": "a", "amps": "a", "ohms": "ohm", "point": "points",
    "counts": "count", "gps": "g/s", "deg c": "degc", "deg f": "degf", "° c": "degc", "° f": "degf", "/min": "rpm",
    "degrees c": "degc", "degrees f": "degf", "kmh": "km/h", "kph": "km/h", "miles": "mile", "mi": "mile",
    "deg": "degrees", "°": "degrees", "degree": "degrees", "in. hg": "inhg", "mins": "min",
    "in h2o": "inh2o", "inches of water": "inh2o", "inch": "in", "inches": "in",
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


def without_unit(text: str) -> bool:
    """True for a number alone."""
    match = _NUMBER.match(same_signs(text))
    return match is not None and not match.group(2)


def same_unit(typed: str, unit: str) -> bool:
    """True if `typed` carries no unit or the same as `unit`."""
    match = _NUMBER.match(same_signs(typed))
    return not (match and match.group(2)) or _key(match.group(2)) == _key(unit)


_AMERICAN = re.compile(r"psi|inHg|inH2O|°F")


def american_unit(check: Check) -> str:
    """The American unit that the screen of a check shows ahead of its own metric one; empty if it shows none.

    Without a unit nobody knows which of the two a number is in: 45 psi is good fuel pressure, 45 kPa is none.
    """
    reading = check.reading
    shown = _AMERICAN.search(" ".join(check.results.values())) if reading else None
    return shown[0] if reading and shown and shown[0] != reading.unit else ""


def read_number(text: str, unit: str, difference: bool = False) -> float:
    """The number in `text`, converted to `unit`. Raises BadReading: not a number, or another quantity.

    `difference`: between two readings; 18 °F apart is 10 °C apart.
    """
    match = _NUMBER.match(same_signs(text))
    if not match:
        raise BadReading(f"'{text.strip()}' is not a number. Type a number, as 12.4 or 12.4 {unit}.")
    value, typed = float(_point(match[1])), match[2] or unit
    source, target = _key(typed), _key(unit)
    if source == target:
        return value
    for factors in _SAME_QUANTITY:
        if source in factors and target in factors:
            zero = 0.0 if difference else _ZERO.get(source, 0.0) - _ZERO.get(target, 0.0)
            return (value * factors[source] + zero) / factors[target]
    raise BadReading(f"'{typed.strip()}' is not a unit for this reading. Type the number in {unit}.")


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


def band(check: Check, text: str) -> Banded:
    """The result that the typed reading means for `check`.

    Raises BadReading if it is no number, has a foreign unit, or is not possible for a real reading.
    """
    reading = check.reading
    if reading is None:
        raise BadReading(f"'{check.name}' takes no number. Pick one of its results.")
    value = read_number(text, reading.unit, is_difference(check))
    low, high = reading.possible
    if not low <= value <= high:
        raise BadReading(
            f"{value:.4g} {reading.unit} is outside {low:g} to {high:g} {reading.unit}: not a real reading. "
            "Look again, or answer d (don't know)."
        )
    last = max(reading.bands, key=lambda name: reading.bands[name][1])  # the upper end itself
    result = next((name for name, (start, end) in reading.bands.items() if start <= value < end), last)
    return Banded(value, reading.unit, result, text.strip())


PLAIN: Mapping[str, tuple[tuple[float, float], ...]] = {
    "rpm": ((500, 1500),), "kPa": ((85, 105), (240, 450)), "V": ((11, 15),), "mm": ((0.5, 1.6),),
    "°C": ((70, 115),), "inHg": ((15, 22),),
}  # fmt: skip
"""What a display usually shows of the quantity itself: idle speed, barometer and fuel pressure, battery, gap, warm
engine, vacuum at idle (common practice, no source). It tells such a value from a difference, and judges nothing."""
_DIFFERENCE = re.compile(r"\b(against|apart|lost|drop|falls by|rises by)\b", re.IGNORECASE)


def asked_back(check: Check, text: str) -> str:
    """Empty if the typed reading is plain, else the question to ask before it is taken; `y` takes it as a reading.

    In doubt: a number without unit that may also be the number of a line on the screen and then means
    another result; and a value of the quantity itself where its difference is asked. Raises BadReading as `band`.
    """
    plain, count = text.strip(), len(check.names)
    line = check.names[int(plain) - 1] if re.fullmatch("[1-9]", plain) and int(plain) <= count else None
    try:
        banded = band(check, text)
    except BadReading as error:
        raise BadReading(f"{error} For line {plain} type: line {plain}." if line else str(error)) from None
    if line is not None and line != banded.result:
        return (
            f"Did you mean line {plain} ({check.results[line]}) or the reading {banded}? "
            f"Type  line {plain}  for the line, y for the reading."
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
