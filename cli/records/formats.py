"""The record as text, HTML that prints well, and JSON."""

from collections.abc import Sequence
from html import escape

from comeback.cli.look import Look, Styled
from comeback.cli.records.data import record_data
from comeback.cli.records.record import record_of
from comeback.cli.records.sections import Section, sections
from comeback.engine.case.events import Event
from comeback.engine.safe_text import as_json, harmless
from comeback.kb.schema import KnowledgeBase

FORMATS = ("text", "html", "json")
TIMED, WIDEST = 3, 28
"""Columns of a row with a time; characters of a label beyond which it pushes its text aside."""
STYLE = """\
body { font: 11pt/1.4 sans-serif; max-width: 60em; margin: 1.5em auto; padding: 0 1em; color: #000; background: #fff }
h1 { font-size: 16pt } h2 { font-size: 12pt; margin: 1em 0 .2em; break-after: avoid }
table { border-collapse: collapse; width: 100%; table-layout: fixed } tr { break-inside: avoid }
col.first { width: 22% } col.who { width: 14% }
td { border-bottom: 1px solid #999; padding: .15em .8em .15em 0; vertical-align: top }
.status { border: 2px solid #000; padding: 0 .5em }
@media print { body { margin: 0; max-width: none; font-size: 10pt } }
@page { margin: 15mm 12mm 15mm 20mm }"""


def rendered(knowledge: KnowledgeBase, recorded: Sequence[Event], kind: str) -> str:
    """The record in one of FORMATS, ending with a line end."""
    record = record_of(knowledge, recorded)
    if kind == "json":
        return as_json(record_data(record), indent=1) + "\n"
    found = [(title, [tuple(map(harmless, row)) for row in rows]) for title, rows in sections(record)]
    title, status = f"Comeback record {record.case.id}", record.status.upper()
    if kind == "text":
        return "\n".join(line for _, line in text_lines(f"{title}   {status}", found, Look())) + "\n"
    return _html(title, status, found)


def text_lines(title: str, found: Sequence[Section], look: Look) -> list[Styled]:
    """The sections with their columns aligned; the last column is wrapped."""
    lines: list[Styled] = [("title", title), ("faint", look.rule)]
    labels = max((len(row[0]) for _, rows in found for row in rows if len(row) == 2), default=0)
    times = max((len(row[0]) for _, rows in found for row in rows if len(row) == TIMED), default=0)
    names = max((len(row[1]) for _, rows in found for row in rows if len(row) == TIMED), default=0)
    for heading, rows in found:
        lines += [("plain", ""), ("title", heading.upper())]
        for *lead, text in rows:
            label = f"{lead[0]:{times}}  {lead[1]:{names}}" if len(lead) > 1 else f"{lead[0]:{min(labels, WIDEST)}}"
            lines += look.styled("plain", text, len(label) + 4, f"  {label}  ")
    return lines


def _html(title: str, status: str, found: Sequence[Section]) -> str:
    parts = [
        "<!DOCTYPE html>", '<html lang="en">', f'<head><meta charset="utf-8"><title>{escape(title)}</title>',
        f"<style>\n{STYLE}\n</style></head>",
        f'<body><h1>{escape(title)} <span class="status">{escape(status)}</span></h1>',
    ]  # fmt: skip
    for heading, rows in found:
        parts.append(f"<h2>{escape(heading)}</h2>\n<table><col class='first'><col class='who'><col>")
        for row in rows:
            span = ' colspan="2"' if len(row) < TIMED else ""
            cells = "".join(f"<td>{escape(part)}</td>" for part in row[:-1])
            parts.append(f"<tr>{cells}<td{span}>{escape(row[-1])}</td></tr>")
        parts.append("</table>")
    return "\n".join([*parts, "</body></html>"]) + "\n"
