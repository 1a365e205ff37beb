"""Trouble codes: two bytes <-> text, who defines a code, and when its lamp lights.

Format of ISO 15031-6 / SAE J2012 as taught (standards not read).
"""

import re

STORED, PENDING, PERMANENT, TYPED, LISTED = "stored", "pending", "permanent", "typed", "listed"
"""Kinds of codes; typed ones are stored and pending ones together, listed ones stand in a text that does not say."""
LETTERS = "PCBU"
_TYPED = re.compile(r"([PCBU]) ?([0-3]?)([0-9A-F]{3})(?:[-:][0-9A-F]{2})?\Z")

_METERING, _HYBRID = "fuel and air metering", "hybrid drive"
_AREAS = {  # third character of P0xxx, P1xxx and P2xxx, from memory (H)
    "0": _METERING, "1": _METERING, "2": _METERING, "3": "ignition and misfire", "4": "emission controls",
    "5": "speed and idle", "6": "engine computer", "7": "transmission", "8": "transmission", "9": "transmission",
}  # fmt: skip
_ODD_AREAS = {  # groups that do not follow their third character alone, from memory (H)
    "P02": f"{_METERING}, injectors", "P2A": _METERING, "P0A": _HYBRID, "P0B": _HYBRID, "P0C": _HYBRID,
}  # fmt: skip
_LAMP = (  # P0217, P0218, P0221 and P0234 are no circuits but states of engine and transmission
    (r"P0(44[0-9]|45[0-9]|49[67])|P04E[EF]",
     "can come days later: its monitor needs a cold start, 15 to 85 % fuel and mild weather"),
    (r"P03[01]", "flashes at once when the catalyst is in danger, else steady on the second trip"),
    (r"P0(420|430)", "takes two trips or more with a long steady drive"),
    (r"P2(1(0|1[0-9]|35|38)|119)|P060|P0638", "at once, with limp-home: within 10 s"),
    (r"P0(1(0[02-5789]|1[02-5789]|2[0234])|2(0[0-9]|1[0-2]|2[0234]|3[0-3])|35[0-9]|36[0-2]|62[0-9]|64[0-9]|65[0-3])",
     "circuit: on many cars in the first trip, within minutes"),
)  # fmt: skip
_LAMP_ELSE = "as a rule on the second trip in a row in which its monitor ran and failed"
ONE_CYLINDER = re.compile(r"P03(0[1-9]|1[0-2])")
"""A misfire code of a single cylinder."""


def code_of(high: int, low: int) -> str:
    """The code that two bytes stand for: 0x01 0x71 is P0171. High byte: 2 bits letter, 2 bits digit, 4 bits hex."""
    return f"{LETTERS[high >> 6 & 3]}{high >> 4 & 3}{high & 15:X}{low & 255:02X}"


def read_code(text: str) -> str | None:
    """A typed code in its full form: `p0171`, `P 171` and `P0171-00` all mean P0171. None if it is no code."""
    match = _TYPED.match(text.strip().upper())
    return f"{match[1]}{match[2] or '0'}{match[3]}" if match else None


def who_defines(code: str) -> str:
    """`standard`, `maker` or `reserved`: whether a generic meaning can be relied on."""
    if re.match(r"P1|[PU]3[0-3]|U[12]|[BC][12]", code):
        return "maker"
    return "reserved" if code[:2] in ("B3", "C3") else "standard"


def area(code: str) -> str:
    """The system a powertrain code belongs to by its first characters; empty for the others."""
    return _ODD_AREAS.get(code[:3]) or (_AREAS.get(code[2], "") if code[:2] in ("P0", "P1", "P2") else "")


def may_mean(code: str, other: str) -> bool:
    """Whether `code`, whose meaning is not known, may tell of the same thing as `other`.

    Only within a letter; of P codes only within the system, unless that is not known either (as with P34FF).
    """
    system = area(code).partition(",")[0]
    return code[0] == other[0] and (code[0] != "P" or not system or system == area(other).partition(",")[0])


def lamp_timing(code: str) -> str:
    """How soon after the fault this kind of code lights the lamp.

    From 13 CCR 1968.2(d)(2.2), 40 CFR 86.010-18(b)(2) and 86.1806-05(d); what a maker confirms in one
    trip differs, so these are rules of thumb (common practice).
    """
    return next((said for pattern, said in _LAMP if re.match(pattern, code)), _LAMP_ELSE)
