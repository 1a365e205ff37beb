"""Vehicle identification number: check digit, model year, and a form that names nobody.

49 CFR 565.15: letter values (table III), weights (table IV), years (table VII). The check digit is
required in North America only; elsewhere a wrong one says nothing.
"""

import re
from dataclasses import dataclass

from comeback.engine.errors import EngineError

_LETTERS, _DIGITS = "ABCDEFGHJKLMNPRSTUVWXYZ", "12345678123457923456789"
_VALUES = {letter: int(value) for letter, value in zip(_LETTERS, _DIGITS, strict=True)}
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)  # by position; the check digit itself weighs 0
_YEARS = "ABCDEFGHJKLMNPRSTVWXY123456789"  # 30 years, then again; no I, O, Q, U, Z, 0
_SHOWN = 11  # characters that say maker, type, year and plant; the rest is the car's own number


class BadVin(EngineError):
    """Text that cannot be a VIN; the message says why."""


@dataclass(frozen=True)
class Vin:
    """A VIN of the right length and letters. `check_fits`: its ninth character is the computed check digit."""

    text: str
    check_fits: bool
    year: int | None

    @property
    def masked(self) -> str:
        """The VIN without the car's own number: enough to tell the model, not the owner."""
        return self.text[:_SHOWN] + "*" * (17 - _SHOWN)


def check_digit(text: str) -> str:
    """Ninth character that fits the other sixteen: weighted sum modulo 11, ten is written X."""
    total = sum(weight * _value(sign) for weight, sign in zip(_WEIGHTS, text, strict=True))
    return "0123456789X"[total % 11]


def _value(sign: str) -> int:
    return int(sign) if sign.isdigit() else _VALUES[sign]


def model_year(text: str) -> int | None:
    """Model year of a car: tenth character; a letter in the seventh place means 2010 or later. None if none."""
    if text[9] not in _YEARS:
        return None
    return (2010 if text[6].isalpha() else 1980) + _YEARS.index(text[9])


def read_vin(text: str) -> Vin:
    """A typed or read VIN; blanks and hyphens are ignored. Raises BadVin."""
    plain = re.sub(r"[\s-]", "", text).upper()
    if len(plain) != 17:
        raise BadVin(f"A VIN has 17 characters; this has {len(plain)}. Read it again from the car.")
    wrong = sorted({sign for sign in plain if not (sign.isascii() and (sign.isdigit() or sign in _VALUES))})
    if wrong:
        raise BadVin(f"A VIN has no {' or '.join(wrong)}: I, O and Q are never used. Read 1 and 0, or look again.")
    return Vin(plain, check_digit(plain) == plain[8], model_year(plain))
