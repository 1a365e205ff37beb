"""Numbers that people type to pick from a numbered list."""

import unicodedata


def number_in(text: str, most: int) -> int | None:
    """The number from 1 to `most` that `text` is; None if it is anything else.

    Leading zeros count for nothing, decimal digits of any script are taken, and a number of any length is judged.
    """
    if not text.isdecimal():
        return None
    digits = "".join(str(unicodedata.decimal(sign)) for sign in text).lstrip("0")
    if not digits or len(digits) > len(str(most)):
        return None
    number = int(digits)
    return number if number <= most else None


def percent(chance: float) -> str:
    """A chance as `45 %`; `<1 %` where it would be rounded to none."""
    return f"{100 * chance:.0f} %" if chance >= 0.005 or chance == 0 else "<1 %"


def counted(number: int, word: str, several: str = "") -> str:
    """`1 case`, `2,000 cases`; `several` where an s is not enough."""
    return f"{number:,} {word if number == 1 else several or f'{word}s'}"
