"""Sizes on paper, in points: what fits on a page, and how high each part will be drawn."""

from collections.abc import Iterable
from dataclasses import dataclass

from comeback.diagrams.captions import Caption, Kind

TYPE, TITLE_TYPE, SIGNAL_TYPE = 10.0, 11.0, 14.0
LEADING = 1.2
PADDING, DOUBLE_BORDER = 4.0, 14.0
RANK_GAP, COLUMN_GAP = 6.0, 8.0
PAGE_WIDTH = 481.0
PAGE_LINE = 99
"""Most characters in a line across the page."""
WARNING_PAD, FRAME = 3.0, 18.0
"""Height around a warning, and of their frame with the gap below it."""
WARNING_WIDTH = (PAGE_WIDTH - 26.0, PAGE_WIDTH / 2 - 18.0)
"""Room for the text of a warning that stands alone, and of one in two columns."""
ROW_SLACK, LEAST_SLACK = 7.0, 3.0
"""What the layout program adds in a row of few answers; with many, `RANK_GAP` is more than it takes."""
MANY_WAYS, MANY_SLACK = 7, 12.0
"""From so many answers beside one question on, their uneven heights take so much more."""
TARGET_LINE = 27
"""Most characters in a line of a connector."""
HEAD, FOOT, KEY = 61.0, 58.0, 109.0
NOTES = 10.0
"""What stands around the notes of a page."""
MARGIN, BINDING = 34.0, 57.0
"""12 mm all round, 20 mm on the binding side."""
WRITE_ON = 20.0
"""Height of the fields to fill in, in a worksheet."""
CARD_NAME, CARD_WIDTHS, CARD_PAD = 32.0, (164.0, 144.0, 136.0), 2.0
"""Widths of the columns of a repair card, and what is left free around the text in each."""
CARD_HEAD, RULE = 65.0, 5.0


@dataclass(frozen=True)
class Columns:
    """Widths of the columns of a page: steps, answers, what they lead to; `lines`: most characters in a line."""

    widths: tuple[float, float, float]
    lines: tuple[int, int, int]

    @property
    def steps(self) -> float:
        """Width that the column of steps takes up."""
        return self.widths[0] + 9.0


NORMAL = Columns((182.0, 98.0, 156.0), (32, 20, 30))
WIDEST = Columns((106.0, 172.0, 158.0), (18, 35, 30))
"""For a page with one stop of many answers: trouble codes, danger signs that are read aloud."""
SIGNS = Columns((92.0, 184.0, 160.0), (15, 38, 31))
"""For danger signs in the bay, which stand with how each is looked for."""


@dataclass(frozen=True)
class Paper:
    """A size of paper, portrait. Everything is drawn `scale` times as large as at normal size.

    A `worksheet` has fields to fill in at every step.
    """

    name: str
    width: float
    height: float
    scale: float = 1.0
    worksheet: bool = False

    @property
    def usable(self) -> tuple[float, float]:
        """Width and height inside the margins, in points of the drawing."""
        return (self.width - MARGIN - BINDING) / self.scale, (self.height - 2 * MARGIN) / self.scale


WALL = 1.4
"""Wall size: 14 pt type, read from a few steps away; needs paper twice as large."""
PAPERS = {"letter": Paper("letter", 612.0, 792.0), "a4": Paper("a4", 595.28, 841.89)}
WALL_PAPERS = {
    "letter": Paper("tabloid", 792.0, 1224.0, WALL),
    "a4": Paper("a3", 841.89, 1190.55, WALL),
}
"""The paper of wall size for each normal one: two sheets side by side."""


def text_height(lines: int, size: float = TYPE) -> float:
    """Height of some lines of type."""
    return lines * size * LEADING


def box_height(caption: Caption) -> float:
    """Height of a box with its caption and border."""
    around = DOUBLE_BORDER if caption.kind is Kind.ENDING else 2 * PADDING
    details = text_height(len(caption.detail_lines)) + 2 if caption.details else 0.0
    return text_height(len(caption.title_lines), TITLE_TYPE) + details + around


def rank_heights(heights: Iterable[float]) -> float:
    """Height of parts below each other, with the gaps after them."""
    return sum(height + RANK_GAP for height in heights)
