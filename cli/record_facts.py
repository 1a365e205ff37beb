"""A case's record for keeping: every fact as plain data, and the same facts as titled sections for people.

What was not asked is said, never left out: an empty field reads "not asked".
"""

from collections.abc import Iterable, Sequence
from importlib.metadata import version
from typing import Any

from comeback.cli import wording
from comeback.cli.records import answer_text, case_data, state_of
from comeback.cli.spelling import spelt
from comeback.cli.summing_up import Standing, standing_of
from comeback.engine import case as events
from comeback.engine.case import Event, first_broken_link, read_case
from comeback.engine.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import FEATURE_NAMES, FEATURE_VALUES, Audience, Disposition

NOT_ASKED = "not asked"
Section = tuple[str, list[tuple[str, ...]]]
"""Title and rows; a row of two is a field and its value, a longer one a line of a table."""


def record_data(knowledge: KnowledgeBase, recorded: Sequence[Event]) -> dict[str, Any]:
    """`case_data` and what a reader may ask for beside it: signs, changes, overrides, causes ruled out, not asked."""
    case = read_case(recorded)
    walk = Walk(knowledge, tuple(recorded), Audience(case.audience))
    standing = standing_of(walk)
    final = case.closed is not None or case.handed_over is not None
    opening = recorded[0].payload
    return case_data(knowledge, recorded) | {
        "status": "final" if final else "draft",
        "state": state_of(case),
        "shop": opening.get("shop", "") or NOT_ASKED,
        "people": _people(recorded),
        "registration": case.registration or NOT_ASKED,
        "registration_read_back": any(e.kind == events.REGISTERED and e.payload.get("read_back") for e in recorded),
        "caller_driving": _yes_no(case.driving),
        "questions": [_question(knowledge, answer.check, answer.audience) for answer in case.answers],
        "danger_signs": _signs(knowledge, walk),
        "changes": _changes(knowledge, recorded),
        "overrides": [vars(override) for override in case.overrides],
        "advice": _advice(knowledge, case.disposition),
        "read_back": {"text": _read_back(walk, recorded), "caller_agreed": _yes_no(case.read_back)},
        "causes": _causes(knowledge, standing),
        "checks": {
            "answered": list(standing.answered), "not_known": list(standing.not_known),
            "not_asked": list(standing.not_asked), "not_needed": list(standing.not_needed),
        },
        "stop_screens": [
            {"at": e.at, "by": e.by, **dict(e.payload)} for e in recorded if e.kind == events.WARNED
        ],
        "program": version("comeback-bay"),
    }  # fmt: skip


def _yes_no(value: bool | None) -> str:
    return NOT_ASKED if value is None else "yes" if value else "no"


def _people(recorded: Sequence[Event]) -> list[dict[str, str]]:
    """Who did something, in which role, from when to when."""
    people: dict[tuple[str, str], list[str]] = {}
    role = "phone"
    for event in recorded:
        if event.kind in (events.OPENED, events.TAKEN_OVER):
            role = str(event.payload.get("audience", role))
        people.setdefault((event.by, role), []).append(event.at)
    return [{"name": n, "role": r, "from": at[0], "to": at[-1]} for (n, r), at in people.items()]


def _question(knowledge: KnowledgeBase, check: str, audience: str) -> dict[str, str]:
    """The words by which the check was asked, in the knowledge's present version."""
    entry = knowledge.checks.get(check)
    text = (entry.say if audience == "phone" else entry.do) if entry else None
    return {"check": check, "audience": audience, "text": str(text or (entry.name if entry else check))}


def _signs(knowledge: KnowledgeBase, walk: Walk) -> list[dict[str, str]]:
    """Every danger sign of the complaint with its answer, the negatives too."""
    known = knowledge.complaints.get(walk.case.complaint or "")
    out = []
    for check in known.red_flags if known else ():
        answer = walk.case.answer(check)
        stated = (known.reports if known else {}).get(check)
        result = answer.result if answer else stated
        said = (
            answer_text(knowledge, check, result, answer.reading if answer else "") if answer or stated else NOT_ASKED
        )
        red = bool(result and result in knowledge.checks[check].red_flag)
        out.append(
            {"check": check, "name": knowledge.checks[check].name, "answer": said, "raised": "yes" if red else "no"}
        )
    return out


def _changes(knowledge: KnowledgeBase, recorded: Sequence[Event]) -> list[dict[str, Any]]:
    """Every answer that was taken back or corrected, with its old value."""
    numbered = {event.number: event for event in recorded}
    return [
        {
            "at": event.at, "by": event.by, "event": event.payload["number"], "why": event.payload.get("why", "back"),
            "old": _told(knowledge, numbered[event.payload["number"]]),
        }
        for event in recorded
        if event.kind == events.TAKEN_BACK
    ]  # fmt: skip


def _told(knowledge: KnowledgeBase, event: Event) -> str:
    data = event.payload
    if event.kind == events.ANSWERED:
        readings = data.get("readings", {})
        return "; ".join(
            f"{knowledge.checks[c].name if c in knowledge.checks else c}: "
            f"{answer_text(knowledge, c, r, readings.get(c, ''))}"
            for c, r in data["results"].items()
        )
    return f"{event.kind}: " + ", ".join(str(value) for value in data.values())


def _advice(knowledge: KnowledgeBase, word: str | None) -> dict[str, Any] | str:
    if word is None:
        return NOT_ASKED
    advice = knowledge.dispositions[Disposition.of(word)]
    return {"name": advice.name, "within": advice.within, "said": list(advice.say), "worse": list(advice.worse)}


def _read_back(walk: Walk, recorded: Sequence[Event]) -> str:
    texts = [event.payload["read_back"] for event in recorded if event.payload.get("read_back") and
             event.kind in (events.ADVISED, events.READ_BACK)]  # fmt: skip
    return str(texts[-1]) if texts else NOT_ASKED


def _causes(knowledge: KnowledgeBase, standing: Standing) -> dict[str, Any]:
    return {
        "likely": [_cause(knowledge, c, p) for c, p in standing.likely.items()],
        "possible": [_cause(knowledge, c, p) for c, p in standing.possible.items()],
        "ruled_out": [_cause(knowledge, c, p) for c, p in standing.ruled_out.items()],
        "never_in_question": list(standing.never_in_question),
    }


def _cause(knowledge: KnowledgeBase, cause: str, chance: float) -> dict[str, Any]:
    return {"cause": cause, "name": knowledge.causes[cause].name, "chance": round(chance, 4)}


def sections(knowledge: KnowledgeBase, recorded: Sequence[Event]) -> list[Section]:
    """The record as titled sections: the same facts for text, Markdown and HTML."""
    data, case = record_data(knowledge, recorded), read_case(recorded)
    signs = ((x["name"], x["answer"], "DANGER SIGN" if x["raised"] == "yes" else "") for x in data["danger_signs"])
    names, open_checks = knowledge.checks, data["checks"]
    return [
        ("Case", _case_rows(knowledge, data)),
        ("People", [(p["from"], p["name"], p["role"]) for p in data["people"]]),
        ("Danger signs", _or(signs, NOT_ASKED)),
        ("Findings", _or(_finding_rows(knowledge, data), NOT_ASKED)),
        ("Advice", _advice_rows(data)),
        ("Overrides", _or(map(_override_row, data["overrides"]), "none")),
        ("Repairs", _or(((r["at"], r["by"], r["name"]) for r in data["repairs"]), "none done")),
        ("Ending", _ending_rows(knowledge, case.closed, case.handed_over)),
        ("Causes", _cause_rows(data)),
        ("Not known", _or(((names[c].name, "don't know") for c in open_checks["not_known"]), "none")),
        ("Not asked", _or(((names[c].name, NOT_ASKED) for c in open_checks["not_asked"]), "none")),
        ("Notes", _or(((n["at"], n["by"], n["text"]) for n in data["notes"]), "none")),
        ("Changed answers", _or(((c["at"], c["by"], c["old"], c["why"]) for c in data["changes"]), "none")),
        ("Record", _version_rows(data, recorded)),
    ]


def _or(rows: Iterable[tuple[str, ...]], otherwise: str) -> list[tuple[str, ...]]:
    return list(rows) or [("all", otherwise)]


def _override_row(data: dict[str, str]) -> tuple[str, ...]:
    agreed = f"agreed by {data['second']}" if data["second"] else ""
    return (data["at"], data["by"], f"{data['ruled']} to {data['to']}: {data['reason']}", agreed)


def _case_rows(knowledge: KnowledgeBase, data: dict[str, Any]) -> list[tuple[str, ...]]:
    vehicle = ", ".join(f"{FEATURE_NAMES[k]} {FEATURE_VALUES[v]}" for k, v in data["vehicle"].items())
    plate = data["registration"]
    if plate != NOT_ASKED:
        plate = f"{plate} ({spelt(plate)}; typed twice)"
    service, complaint = data["service"], data["complaint"]
    return [
        ("Case", f"{data['case']} ({data['state']})"), ("Status", data["status"]), ("Shop", data["shop"]),
        ("Opened", data["opened_at"]), ("Car", data["car"] or NOT_ASKED), ("Registration", plate),
        ("Vehicle", vehicle or NOT_ASKED), ("Caller driving", data["caller_driving"]),
        ("Service", knowledge.services[service].name if service in knowledge.services else service or NOT_ASKED),
        ("Complaint", knowledge.complaints[complaint].name if complaint in knowledge.complaints
         else complaint or NOT_ASKED),
        ("In the caller's words", data["words"] or NOT_ASKED),
    ]  # fmt: skip


def _finding_rows(knowledge: KnowledgeBase, data: dict[str, Any]) -> list[tuple[str, ...]]:
    return [
        (a["at"], a["by"], question["text"], answer_text(knowledge, a["check"], a["result"], a["reading"]))
        for a, question in zip(data["answers"], data["questions"], strict=True)
    ]


def _advice_rows(data: dict[str, Any]) -> list[tuple[str, ...]]:
    advice = data["advice"]
    if isinstance(advice, str):
        return [("Told", advice)]
    return [
        ("Told", f"{advice['name']} ({advice['within']})"), ("Said", " ".join(advice["said"])),
        ("Stop or call if", " ".join(advice["worse"])), ("Read back", data["read_back"]["text"]),
        ("Caller agreed", data["read_back"]["caller_agreed"]),
    ]  # fmt: skip


def _ending_rows(knowledge: KnowledgeBase, closed: Any, handed_over: str | None) -> list[tuple[str, ...]]:
    if closed is None:
        return [("Handed over", handed_over)] if handed_over is not None else [("Ending", "not ended: this is a draft")]
    named = [("Cause", knowledge.causes, "causes"), ("Correction", knowledge.repairs, "repairs")]
    rows: list[tuple[str, ...]] = [("Complaint", str(closed.get("words") or closed.get("complaint", "")))]
    for title, entries, key in named:
        names = [entries[x].name if x in entries else x for x in closed.get(key, ())]  # type: ignore[attr-defined]
        rows.append((title, ", ".join(names) or "not found"))
    return [*rows, ("Proven", "yes" if closed.get("proven") else "no")]


def _cause_rows(data: dict[str, Any]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for key, title in (("likely", "likely"), ("possible", "possible"), ("ruled_out", "ruled out")):
        for cause in data["causes"][key]:
            rows.append((title, cause["name"], f"{100 * cause['chance']:.1f} %"))
    rows.append(("never in question", f"{len(data['causes']['never_in_question'])} other causes"))
    return rows


def _version_rows(data: dict[str, Any], recorded: Sequence[Event]) -> list[tuple[str, ...]]:
    intact = "intact" if first_broken_link(recorded) is None else "BROKEN: somebody changed it"
    return [
        ("Events", str(len(recorded))), ("Hash chain", intact), ("Knowledge", ", ".join(data["knowledge"])),
        ("Program", data["program"]), ("Limits", wording.LIMITS),
    ]  # fmt: skip
