"""The record as text, as HTML that prints well, and as plain data for other programs (JSON)."""

from collections.abc import Sequence
from dataclasses import asdict
from html import escape
from typing import Any

from comeback.cli.look import Look, Styled
from comeback.cli.records.record import NOT_ASKED, Record
from comeback.cli.records.sections import Section, sections
from comeback.cli.screens import wording
from comeback.cli.version import VERSION
from comeback.engine.case.events import Event, Kind
from comeback.engine.safe_text import as_json, harmless
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Disposition

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
ASKED = ("shop", "registration", "phone", "place", "words", "advice")
"""What reads NOT_ASKED while it is empty."""


def rendered(knowledge: KnowledgeBase, recorded: Sequence[Event], kind: str) -> str:
    """The record in one of FORMATS, ending with a line end."""
    record = Record(knowledge, recorded)
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


def record_data(record: Record) -> dict[str, Any]:
    """Everything recorded, as the case has it, beside what follows from it; ids, those of causes with their names."""
    case, groups = asdict(record.case), record.standing
    case |= {key: sorted(value) for key, value in case.items() if isinstance(value, frozenset)}
    plates = [event.payload for event in record.events if event.kind == Kind.REGISTERED]
    kinds = (Kind.ADVISED, Kind.SOLVED, Kind.READ_BACK)
    read = [text for event in record.events if event.kind in kinds and (text := event.payload.get("read_back"))]
    data = {
        "case": case.pop("id"),
        "status": record.status,
        "state": record.state,
        "shop": record.shop,
        "people": list(map(asdict, record.people)),
        **case,
        "registration_read_back": any(plate.get("read_back") for plate in plates),
        "notes": [{"at": at, "by": by, "text": text} for at, by, text in record.case.notes],
        "said": [{"at": at, "by": by, "words": words} for at, by, words in record.case.said],
        "vehicle": dict(case["vehicle"]),
        "caller_driving": record.driving,
        "danger_signs": [
            {"check": s.check, "name": s.name, "answer": s.answer, "raised": "yes" if s.raised else "no"}
            for s in record.signs
        ],
        "not_done": [{"at": event.at, "by": event.by, **event.payload} for event in record.skipped],
        "due": record.now.due.word if record.now.due is not None else "nothing",
        "due_since": record.now.due_at or "nothing",
        "advice": _advice(record),
        "read_back": {
            "text": read[-1] if read else NOT_ASKED,
            "caller_agreed": {None: NOT_ASKED, True: "yes", False: "no"}[record.case.read_back],
        },
        "changes": [
            {"at": e.at, "by": e.by, "event": e.payload["number"], "why": why, "old": old}
            for e, old, why in record.changes
        ],
        "causes": {
            group: [
                {"cause": c, "name": record.name("causes", c), "chance": round(p, 4)}
                for c, p in getattr(groups, group).items()
            ]
            for group in ("likely", "possible", "less_likely", "ruled_out")
        } | {"never_in_question": list(groups.never_in_question)},
        "checks": {key: list(getattr(groups, key)) for key in ("answered", "not_known", "not_asked", "not_needed")},
        "stop_screens": [{"at": e.at, "by": e.by, **e.payload} for e in record.events if e.kind == Kind.WARNED],
        "knowledge": record.versions,
        "chain_intact": record.intact,
        "program": VERSION,
        "limits": wording.LIMITS,
        "events": [{**vars(event), "payload": dict(event.payload)} for event in record.events],
    }  # fmt: skip
    return data | {key: data[key] or NOT_ASKED for key in ASKED}


def _advice(record: Record) -> dict[str, Any] | None:
    """The advice with which the latest call ended, in the words that were read out."""
    last = record.case.last_told
    if last is None:
        return None
    advice, said = record.knowledge.dispositions[Disposition.of(last.disposition)], record.said_aloud(last)
    worse = [text for text in advice.worse if text in said]
    return {
        "name": advice.name, "within": advice.within, "how": last.how, "words": last.words,
        "said": [text for text in said if text not in worse], "worse": worse,
    }  # fmt: skip
