"""Sizes on paper, in points: what fits on a page, and how high each part will be drawn."""

from collections.abc import Iterable
from dataclasses import dataclass

from comeback.diagrams.captions import Caption, Kind

TYPE, TITLE_TYPE, SIGNAL_TYPE = 10.0, 11.0, 14.0
LEADING = 1.2
PADDING = 4.0
RANK_GAP, COLUMN_GAP = 9.0, 8.0
QUESTION_WIDTH, ANSWER_WIDTH, TARGET_WIDTH = 190.0, 104.0, 158.0
ANSWER_LINE, TARGET_LINE = 20, 27
HEAD, FOOT, KEY = 62.0, 78.0, 62.0
MARGIN, BINDING = 34.0, 57.0
"""12 mm all round, 20 mm on the binding side."""


@dataclass(frozen=True)
class Paper:
    """A size of paper, portrait."""

    name: str
    width: float
    height: float

    @property
    def usable(self) -> tuple[float, float]:
        """Width and height inside the margins."""
        return self.width - MARGIN - BINDING, self.height - 2 * MARGIN


PAPERS = {"letter": Paper("letter", 612.0, 792.0), "a4": Paper("a4", 595.28, 841.89)}


def text_height(lines: int, size: float = TYPE) -> float:
    """Height of some lines of type."""
    return lines * size * LEADING


def box_height(caption: Caption) -> float:
    """Height of a box with its caption and border."""
    title = SIGNAL_TYPE if caption.kind is Kind.WARNING else TITLE_TYPE
    border = 2.0 if caption.kind is not Kind.ENDING else 10.0
    inner = text_height(len(caption.title_lines), title) + text_height(len(caption.detail_lines))
    return inner + 2 * PADDING + border


def rank_heights(heights: Iterable[float]) -> float:
    """Height of parts below each other, with the gaps after them."""
    return sum(height + RANK_GAP for height in heights)
