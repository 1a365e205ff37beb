"""Long lists at the keyboard in pages: `m` shows the next one, any other key leaves the list."""

from typing import TYPE_CHECKING

from comeback.cli.look import Styled

if TYPE_CHECKING:
    from comeback.cli.prompt.conversation import Conversation

ROOM = 19
"""Lines of a page above its foot."""
CONTINUED = 6
"""Columns of indentation from which a line goes on with the one before."""


def show_listing(talk: "Conversation", lines: list[Styled]) -> None:
    """Show a list above the keys of the step; at a terminal in pages, else whole."""
    found = _pages(lines) if talk.reader.interactive else [lines]
    told = f"   m   the rest: page {{}} of {len(found)}"
    if len(found) > 1:
        found = [[*page, ("faint", told.format(number))] for number, page in enumerate(found, 1)]
    talk.rest = found
    next_page(talk)


def next_page(talk: "Conversation") -> None:
    """The next page of the list that is being read."""
    page, *talk.rest = talk.rest
    talk.show([*page, *talk.feet()])


def _pages(lines: list[Styled]) -> list[list[Styled]]:
    """Cut where an item begins, if one begins on the page at all."""
    out: list[list[Styled]] = []
    while len(lines) > ROOM:
        begins = [i for i in range(2, ROOM + 1) if not lines[i][1].startswith(" " * CONTINUED)]
        cut = begins[-1] if begins else ROOM
        out.append(lines[:cut])
        lines = lines[cut:]
    return [*out, lines]
