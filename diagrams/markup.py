"""HTML-like labels of Graphviz: text that is safe to quote, in boxes of a fixed width."""

from collections.abc import Sequence
from html import escape

from comeback.diagrams.captions import Caption, Kind
from comeback.diagrams.measure import SIGNAL_TYPE, SIGNAL_WIDTH, TITLE_TYPE, WARNING_WIDTH


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
    """A table without borders, as a label."""
    more = "".join(f' {key.upper()}="{value}"' for key, value in attributes.items())
    body = "".join(f"<TR>{''.join(row)}</TR>" for row in rows)
    return f'<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="{padding:g}"{more}>{body}</TABLE>'


def caption_label(caption: Caption, width: float) -> str:
    """The label of a box."""
    if caption.kind is Kind.WARNING:
        word = f'<FONT POINT-SIZE="{SIGNAL_TYPE:g}"><B>{escape(caption.title)}</B></FONT>'
        return f"<{table([[cell(word, SIGNAL_WIDTH, 'CENTER'), cell(lines(caption.detail_lines), WARNING_WIDTH)]])}>"
    size = None if caption.kind is Kind.REMINDER else TITLE_TYPE
    body = lines(caption.title_lines, size, bold=True) + lines(caption.detail_lines)
    return f"<{table([[cell(body, width)]])}>"


def plain_label(texts: Sequence[str], bold: bool = False) -> str:
    """A label without a box: an answer, a connector."""
    body = "<BR/>".join(escape(text, quote=False) for text in texts)
    return f"<<B>{body}</B>>" if bold else f"<{body}>"
