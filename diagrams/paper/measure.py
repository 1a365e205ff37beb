"""Sizes on paper, in points: what fits on a page, and how high each part will be drawn."""

from collections.abc import Iterable
from dataclasses import dataclass

from comeback.diagrams.paper.captions import Caption, Kind

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
ROW_SLACK = 6.0
"""What the layout program adds in a row."""
TARGET_LINE = 27
"""Most characters in a line of a connector."""
HEAD, FOOT, KEY = 61.0, 57.0, 109.0
NOTES = 10.0
"""What stands around the notes of a page."""
MARGIN, BINDING = 34.0, 57.0
"""12 mm all round, 20 mm on the binding side."""
WRITE_ON = 20.0
"""Height of the fields to fill in, in a worksheet."""
CARD_NAME, CARD_WIDTHS, CARD_PAD = 56.0, (154.0, 138.0, 128.0), 2.0
"""Widths of the columns of a repair card, and what is left free around the text in each."""
CARD_HEAD, CARD_LEAD, RULE = 34.0, 40.0, 5.0
"""Height of the heads of the columns of cards, of how to use them, and of the line below a card."""
CARD_LINE = 16.0
"""Height of a line between the head of a page of cards and its warnings."""


@dataclass(frozen=True)
class Columns:
    """Widths of the columns of a page: steps, and what answers lead to, in the table beside a step.

    `lines`: most characters in a line of each. The answers have the room between.
    """

    widths: tuple[float, float]
    lines: tuple[int, int]

    @property
    def steps(self) -> float:
        """Width that the column of steps takes up."""
        return self.widths[0] + 9.0

    @property
    def table(self) -> tuple[float, float]:
        """Room for text in the two columns of a table beside a step: the answer, what it leads to."""
        steps, then = self.widths
        return PAGE_WIDTH - steps - TABLE_GAP - then, then


NORMAL = Columns((182.0, 156.0), (32, 30))
WIDEST = Columns((106.0, 158.0), (18, 30))
"""For a page with one stop of many answers: trouble codes, danger signs that are read aloud."""
CODES = Columns((88.0, 134.0), (14, 26))
"""For trouble codes in a table, which lead to numbers of repairs."""
SIGNS = Columns((92.0, 160.0), (15, 31))
"""For danger signs in the bay, which stand with how each is looked for."""


TABLE_GAP, TABLE_EDGE, CELL, BOLD_LINE = 28.0, 4.0, 2.5, 10.5
"""Width that a table of answers, the box beside it and the gap take beside their text; what its border takes above
and below; around the text of a cell; height of a line in a cell that begins in bold, which is drawn closer.
"""


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
