"""How text looks on this stream: width, signs it can show, emphasis it may use."""

import os
import shutil
import sys
import textwrap
from collections.abc import Iterable
from typing import NamedTuple, TextIO

from comeback.engine.safe_text import harmless

MARKS = {"plain": "", "title": "\x1b[1m", "caution": "\x1b[1;7m", "faint": "\x1b[2m", "say": "\x1b[1m"}
RESET = "\x1b[0m"
Styled = tuple[str, str]
"""(style, text) with style a key of MARKS; meaning never hangs on style alone."""


class Look(NamedTuple):
    """`width` in columns; `unicode`: the stream can show more than ASCII; `emphasis`: bold and reverse allowed."""

    width: int = 80
    unicode: bool = True
    emphasis: bool = False

    @property
    def alert(self) -> str:
        """The alert symbol that goes with a signal word, or its ASCII stand-in."""
        return "⚠" if self.unicode else "[!]"

    @property
    def rule(self) -> str:
        """A line across the screen."""
        return ("─" if self.unicode else "-") * (self.width - 1)

    def fit(self, text: str) -> str:
        """`text` with signs that the stream cannot show replaced."""
        if self.unicode:
            return text
        table = str.maketrans({"—": "-", "–": "-", "…": "...", "·": "-", "°": " deg ", "’": "'", "“": '"', "”": '"'})
        return text.translate(table).encode("ascii", "replace").decode()

    def wrap(self, text: str, indent: int = 0, first: str = "") -> list[str]:
        """`text` wrapped to the width; `first` starts the first line, the others are indented."""
        room = max(20, self.width - 1)
        pad = " " * indent
        lines = textwrap.wrap(text, room, initial_indent=first.ljust(indent), subsequent_indent=pad)
        return lines or [first.rstrip()]

    def styled(self, style: str, text: str, indent: int = 0, first: str = "") -> list[Styled]:
        """`text` wrapped, in one style; nothing of an empty text."""
        return [(style, line) for line in self.wrap(text, indent, first)] if text else []

    def numbered(self, texts: Iterable[str]) -> list[Styled]:
        """Texts to pick from by number."""
        return [x for n, text in enumerate(texts, 1) for x in self.styled("plain", text, 7, f"  {n:2d}   ")]

    def paint(self, lines: Iterable[Styled]) -> str:
        """The lines as one text for this stream; a line that is still too wide is wrapped with its own indent.

        Whatever people typed or another log brought cannot steer the terminal from here: see `harmless`.
        """
        out = []
        for style, text in lines:
            mark = MARKS[style] if self.emphasis else ""
            text = self.fit(harmless(text))
            indent = len(text) - len(text.lstrip())
            narrow = [text]
            if len(text) >= self.width:
                narrow = self.wrap(text.strip(), min(indent, self.width // 2), " " * indent)
            out += [f"{mark}{part}{RESET}" if mark and part else part for part in narrow]
        return "\n".join(out)


def look_of(stream: TextIO, plain: bool = False) -> Look:
    """The look that `stream` supports; NO_COLOR, TERM=dumb and `plain` switch emphasis off."""
    try:
        "⚠─·".encode(stream.encoding or "ascii")
        unicode = True
    except (UnicodeEncodeError, LookupError):
        unicode = False
    quiet = plain or bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb"
    emphasis = stream.isatty() and not quiet
    width = shutil.get_terminal_size((80, 24)).columns if stream.isatty() else 80
    return Look(max(40, min(width, 132)), unicode, emphasis)


def aloud(text: str, look: Look) -> list[Styled]:
    """Text to be read to the caller, marked as such."""
    return look.styled("say", f'"{text}"', 12, "Read aloud  ")


def show(lines: Iterable[Styled], look: Look, stream: TextIO | None = None) -> None:
    """Print lines on the stream (standard output if none is given)."""
    print(look.paint(lines), file=stream or sys.stdout, flush=True)


def tell(*lines: str, stream: TextIO | None = None) -> None:
    """Print lines that hold text from outside (names, ids, file names), harmless, on the stream (standard output)."""
    for line in lines:
        print(harmless(line), file=stream or sys.stdout)
