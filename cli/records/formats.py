"""The record's sections as text, Markdown, HTML that prints well, and its events as CSV."""

from collections.abc import Sequence
from html import escape

from comeback.cli.csv_text import csv_text
from comeback.cli.look import Look
from comeback.cli.records.facts import Section, record_data, sections
from comeback.engine.case.events import Event
from comeback.engine.safe_text import as_json, harmless
from comeback.kb.schema import KnowledgeBase

FORMATS = ("text", "markdown", "html", "json", "csv")
STYLE = """\
body { font: 11pt/1.4 sans-serif; max-width: 60em; margin: 1.5em auto; padding: 0 1em; color: #000; background: #fff }
h1 { font-size: 16pt } h2 { font-size: 12pt; margin: 1em 0 .2em; break-after: avoid }
table { border-collapse: collapse; width: 100% } tr { break-inside: avoid }
td { border-bottom: 1px solid #999; padding: .15em .8em .15em 0; vertical-align: top }
.status { border: 2px solid #000; padding: 0 .5em }
@media print { body { margin: 0; max-width: none; font-size: 10pt } }
@page { margin: 15mm 12mm 15mm 20mm }"""


def rendered(knowledge: KnowledgeBase, recorded: Sequence[Event], kind: str) -> str:
    """The record in one of FORMATS, ending with a line end."""
    if kind == "json":
        return as_json(record_data(knowledge, recorded), indent=1) + "\n"
    if kind == "csv":
        return _csv(recorded)
    found = [(title, [tuple(map(harmless, row)) for row in rows]) for title, rows in sections(knowledge, recorded)]
    status = next(value for name, value in found[0][1] if name == "Status")
    title = f"Comeback record {recorded[0].case}"
    return {"text": _text, "markdown": _markdown, "html": _html}[kind](title, status.upper(), found)


def _text(title: str, status: str, found: Sequence[Section]) -> str:
    look, lines = Look(), [f"{title}   {status}", "=" * 79]
    for heading, rows in found:
        lines += ["", heading.upper()]
        for first, *rest in rows:
            lines += look.wrap("; ".join(part for part in rest if part), 29, f"  {first}  ")
    return "\n".join(lines) + "\n"


def _markdown(title: str, status: str, found: Sequence[Section]) -> str:
    lines = [f"# {title}", "", f"**{status}**"]
    for heading, rows in found:
        lines += ["", f"## {heading}", ""]
        for first, *rest in rows:
            told = "; ".join(_plain(part) for part in rest if part)
            lines.append(f"- **{_plain(first)}**" + (f": {told}" if told else ""))
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
        parts.append(f"<h2>{escape(heading)}</h2>\n<table>")
        wide = max(len(row) for row in rows)
        for row in rows:
            cells = "".join(f"<td>{escape(part)}</td>" for part in row[:-1])
            span = f' colspan="{wide - len(row) + 1}"' if len(row) < wide else ""
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
