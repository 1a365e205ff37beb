"""Sizes on paper, in points: what fits on a page, and how high each part will be drawn."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from comeback.diagrams.captions import Caption, Kind

TYPE, TITLE_TYPE, SIGNAL_TYPE = 10.0, 11.0, 14.0
LEADING = 1.2
PADDING = 4.0
RANK_GAP, COLUMN_GAP = 9.0, 8.0
QUESTION_WIDTH, ANSWER_WIDTH, TARGET_WIDTH = 182.0, 98.0, 140.0
SIGNAL_WIDTH, WARNING_WIDTH, PAGE_WIDTH = 86.0, 136.0, 480.0
PAGE_LINE = 98
ANSWER_LINE, TARGET_LINE = 20, 27
HEAD, FOOT, KEY = 66.0, 74.0, 92.0
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
    details = text_height(len(caption.detail_lines))
    if caption.kind is Kind.WARNING:  # the signal word stands beside its text
        return max(text_height(1, SIGNAL_TYPE), details) + 2 * PADDING
    border = 10.0 if caption.kind is Kind.ENDING else 0.0
    return text_height(len(caption.title_lines), TITLE_TYPE) + details + 2 * PADDING + border


def warning_heights(captions: Sequence[Caption]) -> list[float]:
    """Heights of warning boxes drawn two in a line, reminders in a line of their own."""
    full = [box_height(caption) for caption in captions if caption.kind is Kind.WARNING]
    rest = [box_height(caption) for caption in captions if caption.kind is not Kind.WARNING]
    return [max(full[i : i + 2]) for i in range(0, len(full), 2)] + rest


def rank_heights(heights: Iterable[float]) -> float:
    """Height of parts below each other, with the gaps after them."""
    return sum(height + RANK_GAP for height in heights)
