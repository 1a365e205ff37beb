"""HTML-like labels of Graphviz: text that is safe to quote, in boxes of a fixed width."""

from collections.abc import Sequence
from html import escape

from comeback.diagrams import phrases
from comeback.diagrams.captions import Caption, wrapped
from comeback.diagrams.cards import Card, CardPage
from comeback.diagrams.hazards import Hazard, pairs
from comeback.diagrams.measure import (
    CARD_NAME,
    CARD_WIDTHS,
    PADDING,
    PAGE_LINE,
    PAGE_WIDTH,
    SIGNAL_TYPE,
    TITLE_TYPE,
)
from comeback.kb.vocabulary import SignalWord


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
    inner = table([[cell("", column, port=port, height="1"), cell("", PAGE_WIDTH - column, height="1")]], 0)
    return f"<TD>{inner}</TD>"


def caption_label(caption: Caption, width: float, write_on: bool = False) -> str:
    """The label of a box, with fields to fill in if asked for."""
    rows = [[cell(lines(caption.title_lines, TITLE_TYPE, bold=True), width)]]
    if caption.details:
        rows.append([cell(lines(caption.detail_lines), width)])
    if write_on:
        rows.append([f"<TD>{fields(width - 8)}</TD>"])
    return f"<{padded(rows)}>"


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
    """Warnings in one heavy frame across the page, two in a line; a port below the column of steps."""
    return f"<{_frame(hazards, [anchor('below', column)])}>"


def _frame(hazards: Sequence[Hazard], *below: Sequence[str]) -> str:
    rows = []
    for pair in pairs(hazards):
        width = (PAGE_WIDTH - BORDERS) / len(pair)
        heads = [cell(_word(hazard), width) for hazard in pair]
        texts = [cell(lines(hazard.lines), width, valign="TOP") for hazard in pair]
        rows.append([f"<TD>{table([heads, texts], 1)}</TD>"])
    return table([*rows, *below], 2, border="3")


def _word(hazard: Hazard) -> str:
    word = f'<FONT POINT-SIZE="{SIGNAL_TYPE:g}"><B>{escape(signal(hazard.word))}</B></FONT>'
    return f'{word}  {escape(hazard.before, quote=False)}<BR ALIGN="LEFT"/>'


def card_label(page: CardPage, write_on: bool) -> str:
    """A page of repair cards: how to use them, all their cautions, then a row for each."""
    title = lines([phrases.CARDS_TITLE], SIGNAL_TYPE, bold=True)
    rows = [[cell(title, PAGE_WIDTH)], [cell(lines(wrapped(phrases.CARDS_HOW, PAGE_LINE)), PAGE_WIDTH)]]
    if page.hazards:
        rows.append([f"<TD>{_frame(page.hazards)}</TD>"])
    columns = [cell("", CARD_NAME, border="1", sides="B")]
    titles = zip(phrases.COLUMNS, CARD_WIDTHS, strict=True)
    columns += [cell(lines([title], bold=True), width, border="1", sides="B") for title, width in titles]
    grid = table([columns, *(row for card in page.cards for row in _card(card, write_on))], 3)
    return f"<{table([*rows, [f'<TD>{grid}</TD>']], 2)}>"


def _card(card: Card, write_on: bool) -> list[list[str]]:
    left, middle, right = card.columns
    name, look, repair, proof = (CARD_NAME, *CARD_WIDTHS)
    sides = {} if write_on else {"border": "1", "sides": "B"}
    row = [
        cell(lines([card.name], TITLE_TYPE, bold=True), name, valign="TOP", **sides),
        cell(lines(left), look, valign="TOP", **sides),
        cell(lines(middle, bold=True), repair, valign="TOP", **sides),
        cell(lines(right), proof, valign="TOP", **sides),
    ]
    written = f'<TD COLSPAN="4" BORDER="1" SIDES="B">{fields(PAGE_WIDTH - 10)}</TD>'
    return [row, [written]] if write_on else [row]


def plain_label(texts: Sequence[str], bold: bool = False) -> str:
    """A label without a box: an answer, a connector."""
    if any(text.startswith(phrases.BULLET) for text in texts):
        return f"<{lines(texts)}>"
    body = "<BR/>".join(escape(text, quote=False) for text in texts)
    return f"<<B>{body}</B>>" if bold else f"<{body}>"


def signal(word: SignalWord) -> str:
    """The signal word with its symbol."""
    return word.value if word is SignalWord.NOTICE else f"{phrases.SIGN} {word.value}"
