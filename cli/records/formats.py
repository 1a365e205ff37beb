"""The record as text, Markdown, HTML that prints well, JSON, and its events as CSV."""

from collections.abc import Sequence
from html import escape

from comeback.cli.csv_text import csv_text
from comeback.cli.look import Look, Styled
from comeback.cli.records.data import record_data
from comeback.cli.records.record import record_of
from comeback.cli.records.sections import Section, sections
from comeback.engine.case.events import Event
from comeback.engine.safe_text import as_json, harmless
from comeback.kb.schema import KnowledgeBase

FORMATS = ("text", "markdown", "html", "json", "csv")
TIMED, WIDEST = 3, 28
"""Columns of a row with a time; signs of a label beyond which it pushes its text aside."""
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
    if kind == "csv":
        return _csv(recorded)
    found = [(title, [tuple(map(harmless, row)) for row in rows]) for title, rows in sections(record)]
    title, status = f"Comeback record {record.case.id}", record.status.upper()
    if kind == "text":
        return "\n".join(line for _, line in text_lines(f"{title}   {status}", found, Look())) + "\n"
    return {"markdown": _markdown, "html": _html}[kind](title, status, found)


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
            lines += [("plain", line) for line in look.wrap(text, len(label) + 4, f"  {label}  ")]
    return lines


def _markdown(title: str, status: str, found: Sequence[Section]) -> str:
    lines = [f"# {title}", "", f"**{status}**"]
    for heading, rows in found:
        lines += ["", f"## {heading}", ""]
        for first, *rest in rows:
            lead = f"**{_plain(first)}** " if first else ""
            lines.append(f"- {lead}{' '.join(_plain(part) for part in rest if part)}")
    return "\n".join(lines) + "\n"


def _plain(text: str) -> str:
    """What people typed must not become a heading, a link or a picture."""
    for sign in "\\`*_[]<>#|":
        text = text.replace(sign, f"\\{sign}")
    return text


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


def _csv(recorded: Sequence[Event]) -> str:
    """One event a line, its payload as JSON; cells that a spreadsheet would take for a formula are quoted."""
    rows: list[Sequence[object]] = [("case", "number", "at", "by", "kind", "what", "knowledge", "hash")]
    for event in recorded:
        what = as_json(dict(event.payload), sort_keys=True)
        rows.append((event.case, event.number, event.at, event.by, event.kind, what, event.knowledge, event.hash))
    return csv_text(rows)
