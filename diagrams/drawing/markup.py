"""HTML-like labels of Graphviz: text that is safe to quote, in boxes of a fixed width."""

from collections.abc import Sequence
from html import escape

from comeback.diagrams.cards.card_pages import CardPage
from comeback.diagrams.cards.cards import Card
from comeback.diagrams.paper import phrases
from comeback.diagrams.paper.captions import Caption, Kind
from comeback.diagrams.paper.exits import Way
from comeback.diagrams.paper.hazards import Hazard, columns, signal
from comeback.diagrams.paper.lettering import fitted
from comeback.diagrams.paper.measure import (
    CARD_NAME,
    CARD_PAD,
    CARD_WIDTHS,
    CELL,
    PADDING,
    PAGE_WIDTH,
    SIGNAL_TYPE,
    TITLE_TYPE,
    TYPE,
    WARNING_PAD,
    Columns,
)
from comeback.diagrams.paper.tables import table_lines

SHADE = "#e4e4e4"
"""Of a connector, so that it is not taken for an end."""


def lines(texts: Sequence[str], size: float | None = None, bold: bool = False) -> str:
    """Lines of text, each starting at the left."""
    body = "".join(f'{escape(text, quote=False)}<BR ALIGN="LEFT"/>' for text in texts)
    if bold:
        body = f"<B>{body}</B>"
    return f'<FONT POINT-SIZE="{size:g}">{body}</FONT>' if size else body


def cell(body: str, width: float, align: str = "LEFT", **attributes: str) -> str:
    """A table cell of at least this width."""
    more = "".join(f' {key.upper()}="{value}"' for key, value in attributes.items())
    return f'<TD ALIGN="{align}" BALIGN="{align}" WIDTH="{width:g}"{more}>{body}</TD>'


def table(rows: Sequence[Sequence[str]], padding: float = 4, **attributes: str) -> str:
    """A table, as a label; without borders if none are asked for."""
    given = {"border": "0", "cellborder": "0", "cellspacing": "0", "cellpadding": f"{padding:g}", **attributes}
    head = "".join(f' {key.upper()}="{value}"' for key, value in given.items())
    body = "".join(f"<TR>{''.join(row)}</TR>" for row in rows)
    return f"<TABLE{head}>{body}</TABLE>"


def anchor(port: str, column: float) -> str:
    """A cell across the page with a port below or above the middle of the column of steps."""
    low = {"height": "1", "fixedsize": "TRUE"}  # else an empty cell is as high as a line of type
    inner = table([[cell("", column, port=port, **low), cell("", PAGE_WIDTH - column, **low)]], 0)
    return f"<TD>{inner}</TD>"


def caption_label(caption: Caption, width: float, write_on: bool = False) -> str:
    """The label of a box, with fields to fill in if asked for."""
    rows = [[cell(lines(caption.title_lines, TITLE_TYPE, bold=True), width)]]
    if caption.details:
        rows.append([cell(lines(caption.detail_lines), width)])
    if write_on:
        rows.append([f"<TD>{fields(width - 8)}</TD>"])
    return f"<{doubled(rows, width) if caption.kind is Kind.ENDING else padded(rows)}>"


def doubled(rows: Sequence[Sequence[str]], width: float) -> str:
    """Rows of text in a double border."""
    body = f'<TD WIDTH="{width + 2:g}">{table(rows, 1)}</TD>'
    return table([[body]], 2, border="1", cellborder="1", cellspacing="2")


def padded(rows: Sequence[Sequence[str]]) -> str:
    """Rows of text with little room between them and more around them; each row has one kind of type.

    Lines of mixed types in one cell would stand too close.
    """
    return table([[f"<TD>{table(rows, 1)}</TD>"]], PADDING - 1)


BORDERS = 26.0
"""What the borders and gaps of the frame of warnings add to the width of its cells."""
NARROW = 150.0
"""A box narrower than this has no field for a reading; none is taken there."""


def fields(width: float) -> str:
    """What is written by hand at a step: a tick, a reading, the time, initials."""
    tick = '<TD BORDER="1" FIXEDSIZE="TRUE" WIDTH="12" HEIGHT="12"></TD>'
    words = phrases.FIELDS if width > NARROW else phrases.FIELDS_NARROW
    return table([[tick, cell(lines([words]), width - 20)]], 0, cellspacing="2")


def warnings_label(hazards: Sequence[Hazard], column: float) -> str:
    """Warnings in one heavy frame across the page, in two columns; a port below the column of steps."""
    return f"<{_frame(columns(hazards), [anchor('below', column)])}>"


def _frame(sides: Sequence[Sequence[Hazard]], *below: Sequence[str]) -> str:
    width = (PAGE_WIDTH - BORDERS) / len(sides)
    high = max(sum(hazard.height for hazard in side) for side in sides)
    body = table([[cell(_warnings(side, high), width, valign="TOP") for side in sides]], 1)
    return table([[f"<TD>{body}</TD>"], *below], 2, border="3")


def _warnings(side: Sequence[Hazard], high: float) -> str:
    """A column of warnings, filled up to a height; each begins beside its signal word."""
    rows = [[f'<TD ALIGN="LEFT">{table(_warning(hazard), 0)}</TD>'] for hazard in side]
    rest = high - sum(hazard.height for hazard in side)
    return table([*rows, *([[f'<TD HEIGHT="{rest:g}"></TD>']] if rest > WARNING_PAD else [])], WARNING_PAD / 2)


def _warning(hazard: Hazard) -> list[list[str]]:
    word = f'<FONT POINT-SIZE="{SIGNAL_TYPE:g}"><B>{escape(signal(hazard.word))}</B></FONT>'
    first, *rest = hazard.lines
    rows = [[f'<TD ALIGN="LEFT">{word}  {escape(first, quote=False)}<BR ALIGN="LEFT"/></TD>']]
    return rows + ([[f'<TD ALIGN="LEFT">{lines(rest)}</TD>']] if rest else [])


def card_label(page: CardPage, write_on: bool) -> str:
    """A page of repair cards: how to use them, all their cautions, then a row for each."""
    rows = [[cell(lines(fitted(phrases.CARDS_HOW, PAGE_WIDTH - 8, TYPE)), PAGE_WIDTH)]] if page.lead else []
    if page.hazards and page.letters:
        rows.append([cell(lines([phrases.ALL_CAUTIONS]), PAGE_WIDTH)])
    if page.hazards:
        rows.append([f"<TD>{_frame(columns(page.hazards))}</TD>"])
    if page.reminders:
        rows.append([f"<TD>{_frame([page.reminders])}</TD>"])
    if not page.cards:
        return f"<{table(rows, 2)}>"
    heads = [cell(lines([phrases.SIGN] if page.letters else []), CARD_NAME, border="1", sides="B")]
    titles = zip(phrases.COLUMNS, CARD_WIDTHS, strict=True)
    heads += [cell(lines([title], bold=True), width, border="1", sides="B") for title, width in titles]
    grid = table([heads, *(row for card in page.cards for row in _card(card, write_on))], CARD_PAD)
    return f"<{table([*rows, [f'<TD>{grid}</TD>']], 2)}>"


def _card(card: Card, write_on: bool) -> list[list[str]]:
    left, middle, right = card.columns
    name, look, repair, proof = (CARD_NAME, *CARD_WIDTHS)
    sides = {} if write_on else {"border": "1", "sides": "B"}
    row = [
        cell(lines([card.name], bold=True) + lines(card.marks), name, valign="TOP", **sides),
        cell(lines(left), look, valign="TOP", **sides),
        cell(lines(middle, bold=True), repair, valign="TOP", **sides),
        cell(lines(right), proof, valign="TOP", **sides),
    ]
    written = f'<TD COLSPAN="4" BORDER="1" SIDES="B">{fields(PAGE_WIDTH - 10)}</TD>'
    return [row, [written]] if write_on else [row]


def answers_label(ways: Sequence[Way], columns: Columns, name: str) -> str:
    """A table of answers, in a double border if some of them end here.

    A connector is shaded and leads to the file of its page, `name`-2.svg.
    """
    rows = []
    for line in table_lines(ways, columns):
        link = line.connector
        goes_on = {"bgcolor": SHADE} if link else {}
        if link and link.page:
            goes_on |= {"href": f"{name}-{link.page}.svg", "title": link.text}
        then = lines(line.lead, bold=True) + (lines(line.rest) if line.rest else "")
        seen, lead = columns.table
        rows.append([cell(lines(line.answer, bold=line.head), seen), cell(then, lead, **goes_on)])
    inner = f"<TD>{table(rows, CELL, cellborder='1')}</TD>"
    double = any(way.ending for way in ways)
    return f"<{table([[inner]], 1, border='1' if double else '0', cellspacing='2')}>"


def plain_label(texts: Sequence[str], bold: bool = False) -> str:
    """A label without a box: an answer, a connector."""
    if any(text.startswith((phrases.BULLET, phrases.HOW)) for text in texts):
        return f"<{lines(texts)}>"
    body = "<BR/>".join(escape(text, quote=False) for text in texts)
    return f"<<B>{body}</B>>" if bold else f"<{body}>"
