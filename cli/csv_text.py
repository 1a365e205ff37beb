"""Rows as CSV (RFC 4180) that a spreadsheet program shows and never runs."""

import csv
import io
from collections.abc import Iterable, Sequence

from comeback.engine.safe_text import harmless

FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
"""First characters that make a spreadsheet program take a cell for a formula.

Source: OWASP Foundation, "CSV Injection", https://owasp.org/www-community/attacks/CSV_Injection
"""


def csv_text(rows: Iterable[Sequence[object]]) -> str:
    """The rows, one a line; a cell that begins like a formula gets a quote before it, as the source says."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerows([_cell(cell) for cell in row] for row in rows)
    return out.getvalue()


def _cell(cell: object) -> object:
    text = "" if cell is None else str(cell)
    return f"'{harmless(text)}" if text.startswith(FORMULA) else harmless(text)
