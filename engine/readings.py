"""Typed numbers with units -> a value in the check's unit and the result whose band it falls into."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from comeback.engine.errors import BadReading
from comeback.kb.schema import Check, Reading

_NUMBER = re.compile(r"\s*([-+]?\d{1,3}(?:[ ,]\d{3})+(?:\.\d+)?|[-+]?\d*[.,]?\d+)\s*([^\d\s].*)?\Z")

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
    "count": ("count", 1.0, 0.0),
}
_SPELLINGS = {
    "volt": "v", "volts": "v", "c": "degc", "°c": "degc", "f": "degf", "°f": "degf", "percent": "%", "pct": "%",
    "in hg": "inhg", '"hg': "inhg", "inches of mercury": "inhg", "1/min": "rpm", "sec": "s", "seconds": "s",
    "second": "s", "minutes": "min", "minute": "min", "amp": "a", "amps": "a", "ohms": "ohm", "point": "points",
    "counts": "count", "gps": "g/s", "deg c": "degc", "deg f": "degf",
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


def same_unit(typed: str, unit: str) -> bool:
    """True if `typed` carries no unit or the same as `unit`."""
    match = _NUMBER.match(typed)
    return not (match and match.group(2)) or _key(match.group(2)) == _key(unit)


def read_number(text: str, unit: str) -> float:
    """The number in `text`, converted to `unit`. Raises BadReading: not a number, or another quantity."""
    match = _NUMBER.match(text)
    if not match:
        raise BadReading(f"'{text.strip()}' is not a number. Type a number, as 12.4 or 12.4 {unit}.")
    number, typed = match.groups()
    value = float(_point(number))
    return value if typed is None else _convert(value, typed, unit)


def _point(number: str) -> str:
    """`12,4` is twelve point four; `1,200` is twelve hundred; blanks group digits."""
    number = number.replace(" ", "")
    if "." in number:
        return number.replace(",", "")
    return number.replace(",", "") if re.search(r"\d,\d{3}\Z", number) else number.replace(",", ".")


def _key(unit: str) -> str:
    plain = " ".join(unit.strip().lower().split())
    return _SPELLINGS.get(plain, plain)


def _convert(value: float, typed: str, unit: str) -> float:
    source, target = _UNITS.get(_key(typed)), _UNITS.get(_key(unit))
    if source is None or target is None or source[0] != target[0]:
        raise BadReading(f"'{typed.strip()}' is no unit for this reading. Type the number in {unit}.")
    if source == target:
        return value
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
