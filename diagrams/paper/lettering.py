"""How wide words are in the type of the charts, so that lines can be broken where the paper ends, not by counting.

Widths are those of the shipped fonts (Liberation Sans, as wide as Helvetica) in thousandths of the type
size, from the space to the tilde; a test reads them from the font files.
"""

import re
from collections.abc import Sequence
from functools import lru_cache

REGULAR = (
    "278 278 355 556 556 889 667 191 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 278 278 "
    "584 584 584 556 1015 667 667 722 722 667 611 778 722 278 500 667 556 833 722 778 667 778 722 667 611 722 667 944 "
    "667 667 611 278 278 278 469 556 333 556 556 500 556 556 278 556 556 222 222 500 222 833 556 556 556 556 333 500 "
    "278 556 500 722 500 500 500 334 260 334 584"
)
BOLD = (
    "278 333 474 556 556 889 722 238 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 333 333 "
    "584 584 584 611 975 722 722 722 722 667 611 778 722 278 556 722 611 833 722 778 667 778 722 667 611 722 667 944 "
    "667 667 611 333 278 333 584 556 333 556 611 556 611 556 333 611 611 278 278 556 278 889 611 611 611 611 389 556 "
    "333 611 556 778 556 556 500 389 280 389 584"
)
OTHER = 990
"""Any other character, as wide as the widest that charts use."""

BOUND = "\N{NO-BREAK SPACE}"
_UNIT = re.compile(r"(\d) (%|s|h|V|A|W|min|mm|cm|km|kPa|psi|rpm|inHg|mV|ml|bar|Hz|°C)(?![\w])")
_DEGREES = re.compile(r"\bdeg([CF])\b")
_WIDTHS = {
    bold: {chr(code): int(width) for code, width in enumerate(text.split(), 32)}
    for bold, text in ((False, REGULAR), (True, BOLD))
}


def in_signs(text: str) -> str:
    """Degrees as on a gauge: the files spell `degC`, which is easy to type."""
    return _DEGREES.sub("°\\1", text)


def width_of(text: str, size: float, bold: bool = False) -> float:
    """Width of a line of text in points."""
    widths = _WIDTHS[bold]
    return sum(widths.get(character, OTHER) for character in text.replace(BOUND, " ")) * size / 1000


def fitted(text: str, room: float, size: float, bold: bool = False, first: float | None = None) -> list[str]:
    """`text` in lines no wider than `room` points; the first has `first` points if it is given.

    A word wider than a line stands alone in it. If not even one word fits in the first line, it is empty.
    """
    return list(_fitted(text, room, size, bold, first))


@lru_cache(1 << 16)
def _fitted(text: str, room: float, size: float, bold: bool, first: float | None) -> tuple[str, ...]:
    """The same; a chart is laid out many times before it fits, always with the same texts."""
    lines, here, left = list[str](), "", room if first is None else first
    for word in _bound(text).split(" "):
        longer = f"{here} {word}" if here else word
        if width_of(longer, size, bold) <= left or (not here and (lines or first is None)):
            here = longer
        else:
            lines.append(here)
            here, left = word, room
    return tuple(line.replace(BOUND, " ") for line in (*lines, here))


def _bound(text: str) -> str:
    """The text with each number and its unit held together."""
    return _UNIT.sub(rf"\1{BOUND}\2", " ".join(in_signs(text).split()))


def height_of_columns(heights: Sequence[float]) -> tuple[float, int]:
    """Parts in order in two columns: the height of the higher one at best, and how many stand in the left one."""
    whole = sum(heights)
    best, count, left = whole, len(heights), 0.0
    for number, height in enumerate(heights[:-1], 1):
        left += height
        if max(left, whole - left) < best:
            best, count = max(left, whole - left), number
    return best, count
