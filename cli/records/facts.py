"""A case's record for keeping: every fact as plain data, and the same facts as titled sections for people.

What was not asked is said, never left out: an empty field of the data reads "not asked", and for people all of
them stand in one line.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from comeback.cli import VERSION
from comeback.cli.prompt.closing_cause import cause_text
from comeback.cli.records.advice import advice_rows, said_aloud, sign_remarks
from comeback.cli.records.records import answer_text, as_it_should_be, case_data
from comeback.cli.screens import wording
from comeback.cli.screens.advice_now import advice_now, state_of
from comeback.cli.screens.event_text import driving_text, event_text
from comeback.cli.screens.panel_text import panel_of, panel_text
from comeback.cli.screens.summary import Standing, standing_of
from comeback.cli.words.spelling import spelt
from comeback.engine.case.case import read_case, standing
from comeback.engine.case.events import Event, Kind, first_broken_link
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import FEATURE_NAMES, FEATURE_VALUES, Audience, Disposition

NOT_ASKED = "not asked"
MANY, MANY_AT_ONCE = 99, 4
MOST_NOT_CHECKED = 8
Section = tuple[str, list[tuple[str, ...]]]
"""Title and rows; a row of two is a field and its value, a longer one a line of a table."""


def record_data(knowledge: KnowledgeBase, recorded: Sequence[Event]) -> dict[str, Any]:
    """`case_data` and what a reader may ask for beside it: signs, changes, overrides, causes ruled out, not asked."""
    case, now = read_case(recorded), advice_now(knowledge, recorded)
    walk = Walk(knowledge, tuple(recorded), case.audience)
    standing = standing_of(walk)
    final = case.closed is not None or case.handed_over is not None
    opening = recorded[0].payload
    return case_data(knowledge, recorded) | {
        "status": "final" if final else "draft",
        "state": state_of(case, now, case.opened_at),
        "shop": opening.get("shop", "") or NOT_ASKED,
        "people": _people(recorded),
        "registration": case.registration or NOT_ASKED,
        "phone": case.phone or NOT_ASKED,
        "place": case.place or NOT_ASKED,
        "registration_read_back": any(e.kind == Kind.REGISTERED and e.payload.get("read_back") for e in recorded),
        "due": now.due.word if now.due is not None else "nothing",
        "due_since": now.due_at or "nothing",
        "caller_driving": _driving(recorded),
        "questions": [_question(knowledge, answer.check, answer.audience) for answer in case.answers],
        "danger_signs": _signs(knowledge, walk),
        "changes": _changes(knowledge, recorded),
        "overrides": [vars(override) for override in case.overrides],
        "advice": _advice(knowledge, recorded),
        "read_back": {"text": _read_back(walk, recorded), "caller_agreed": _yes_no(case.read_back)},
        "causes": _causes(knowledge, standing),
        "checks": {
            "answered": list(standing.answered), "not_known": list(standing.not_known),
            "not_asked": list(standing.not_asked), "not_needed": list(standing.not_needed),
        },
        "stop_screens": [
            {"at": e.at, "by": e.by, **dict(e.payload)} for e in recorded if e.kind == Kind.WARNED
        ],
        "program": VERSION,
    }  # fmt: skip


def _yes_no(value: bool | None) -> str:
    return NOT_ASKED if value is None else "yes" if value else "no"


def _driving(recorded: Sequence[Event]) -> str:
    """Each answer to whether the caller was driving, with its time if there are several."""
    said = [event for event in standing(recorded) if event.kind == Kind.DRIVING]
    if len(said) < 2:
        return driving_text(said[0].payload["driving"]) if said else NOT_ASKED
    return "; ".join(f"{driving_text(event.payload['driving'])} ({event.at[11:16]})" for event in said)


def _people(recorded: Sequence[Event]) -> list[dict[str, str]]:
    """Who did something, in which role, from when to when."""
    people: dict[tuple[str, str], list[str]] = {}
    role = "phone"
    for event in recorded:
        if event.kind in (Kind.OPENED, Kind.TAKEN_OVER):
            role = str(event.payload.get("audience", role))
        people.setdefault((event.by, role), []).append(event.at)
    return [{"name": n, "role": r, "from": at[0], "to": at[-1]} for (n, r), at in people.items()]


def _question(knowledge: KnowledgeBase, check: str, audience: Audience) -> dict[str, str]:
    """The words by which the check was asked, in the knowledge's present version."""
    entry = knowledge.checks.get(check)
    text = (entry.say if audience is Audience.PHONE else entry.do) if entry else None
    return {"check": check, "audience": audience, "text": str(text or (entry.name if entry else check))}


def _signs(knowledge: KnowledgeBase, walk: Walk) -> list[dict[str, str]]:
    """Every danger sign of the complaint, and any other that was seen, with its answer, the negatives too."""
    known = knowledge.complaints.get(walk.case.complaint or "")
    listed = known.red_flags if known else ()
    asked = dict.fromkeys([*(known.reports if known else ()), *(a.check for a in walk.case.answers)])
    others = [
        c for c in asked
        if c in knowledge.checks and c not in listed and walk.situation.results[c] in knowledge.checks[c].red_flag
    ]  # fmt: skip
    out = []
    for check in (*listed, *others):
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
            "old": event_text(knowledge, numbered[event.payload["number"]], MANY),
        }
        for event in recorded
        if event.kind == Kind.TAKEN_BACK
    ]  # fmt: skip


def _advice(knowledge: KnowledgeBase, recorded: Sequence[Event]) -> dict[str, Any] | str:
    """The advice with which the latest call ended, in the words that were read out."""
    last = read_case(recorded).last_told
    if last is None:
        return NOT_ASKED
    advice = knowledge.dispositions[Disposition.of(last.disposition)]
    said = said_aloud(recorded, last)
    shared = {"name": advice.name, "within": advice.within, "how": last.how, "words": last.words}
    if said:
        worse = [text for text in advice.worse if text in said]
        return shared | {"said": [text for text in said if text not in worse], "worse": worse}
    return shared | {"said": list(advice.say), "worse": list(advice.worse)}


def _read_back(walk: Walk, recorded: Sequence[Event]) -> str:
    texts = [event.payload["read_back"] for event in recorded if event.payload.get("read_back") and
             event.kind in (Kind.ADVISED, Kind.READ_BACK)]  # fmt: skip
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
    signs = ((x["name"], x["answer"], "DANGER SIGN" if x["raised"] == "yes" else "")
             for x in data["danger_signs"] if x["answer"] != NOT_ASKED)  # fmt: skip
    found: list[Section] = [
        ("Case", _asked(_case_rows(knowledge, data))),
        ("People", [(p["from"], p["name"], p["role"]) for p in data["people"]]),
        ("Advice", advice_rows(knowledge, recorded)),
        ("Danger signs", [*signs, *sign_remarks(knowledge, recorded)]),
        ("Findings", list(_finding_rows(knowledge, recorded))),
        ("Overrides", list(map(_override_row, data["overrides"]))),
        ("Repairs", _repair_rows(knowledge, data)),
        ("Ending", _ending_rows(knowledge, case.closed, case.handed_over)),
        ("Causes", _cause_rows(data)),
        ("Notes", [(n["at"], n["by"], n["text"]) for n in data["notes"]]),
        ("Changed answers", [(c["at"], c["by"], c["old"], c["why"]) for c in data["changes"]]),
        ("Not asked or not known", _open_rows(knowledge, data, _not_asked(knowledge, data))),
        ("Record", _version_rows(data, recorded)),
    ]
    return [(title, rows) for title, rows in found if rows]


def _first(texts: Iterable[str]) -> list[str]:
    found = list(texts)
    rest = len(found) - MOST_NOT_CHECKED
    return [*found[:MOST_NOT_CHECKED], f"and {rest} more, all of them with --format json"] if rest > 0 else found


def _not_asked(knowledge: KnowledgeBase, data: dict[str, Any]) -> list[str]:
    fields = [row[0] for row in _case_rows(knowledge, data) if row[-1] == NOT_ASKED]
    return [*fields, *(sign["name"] for sign in data["danger_signs"] if sign["answer"] == NOT_ASKED)]


def _asked(rows: Iterable[tuple[str, ...]]) -> list[tuple[str, ...]]:
    return [row for row in rows if row[-1] != NOT_ASKED]


def _open_rows(knowledge: KnowledgeBase, data: dict[str, Any], fields: list[str]) -> list[tuple[str, ...]]:
    """What nobody asked or could tell, in a few lines."""
    names, checks = knowledge.checks, data["checks"]
    rows = (
        ("Not known", [names[check].name for check in checks["not_known"]]),
        ("Not asked", fields),
        ("Not checked", _first(names[check].name for check in checks["not_asked"])),
    )
    return [(title, "; ".join(texts)) for title, texts in rows if texts]


def _override_row(data: dict[str, str]) -> tuple[str, ...]:
    agreed = f"agreed by {data['second']}" if data["second"] else ""
    return (data["at"], data["by"], f"{data['ruled']} to {data['to']}: {data['reason']}", agreed)


def _case_rows(knowledge: KnowledgeBase, data: dict[str, Any]) -> list[tuple[str, ...]]:
    vehicle = ", ".join(f"{FEATURE_NAMES[k]} {FEATURE_VALUES[v]}" for k, v in data["vehicle"].items())
    plate = data["registration"]
    if plate != NOT_ASKED:
        plate = f"{plate} ({spelt(plate)}; typed twice)"
    elif data["registration_not_confirmed"]:
        plate = f"{', '.join(data['registration_not_confirmed'])} (not confirmed: typed once)"
    complaint = data["complaint"]
    done = [name for name in (data["service"], *data["also"]) if name]
    service = " + ".join(knowledge.services[name].name if name in knowledge.services else name for name in done)
    return [
        ("Case", f"{data['case']} ({data['state']})"), ("Status", data["status"]), ("Shop", data["shop"]),
        ("Opened", data["opened_at"]), ("Car", data["car"] or NOT_ASKED), ("Registration", plate),
        ("Call back", data["phone"] or NOT_ASKED), ("Stands at", data["place"] or NOT_ASKED),
        ("Vehicle", vehicle or NOT_ASKED), ("Caller driving", data["caller_driving"]),
        ("Service", service or NOT_ASKED),
        ("Complaint", knowledge.complaints[complaint].name if complaint in knowledge.complaints
         else complaint or NOT_ASKED),
        ("In the caller's words", data["words"] or NOT_ASKED),
        *((f"Said {x['at'][:16].replace('T', ' ')}", x["words"] or "nothing has changed") for x in data["said_later"]),
    ]  # fmt: skip


def _finding_rows(knowledge: KnowledgeBase, recorded: Sequence[Event]) -> Iterator[tuple[str, ...]]:
    """Each finding by its check's name; codes read at one go, and many signs as they should be, in one line each."""
    shown: set[int] = set()
    numbered = {event.number: event for event in recorded}
    answers = read_case(recorded).answers
    for answer in answers:
        same = [other for other in answers if other.number == answer.number]
        results = {other.check: other.result for other in same}
        panel = panel_of(knowledge, results)
        if panel is not None:
            if answer.number not in shown:
                codes = numbered[answer.number].payload.get("codes", ())
                yield (answer.at, answer.by, panel_text(knowledge, panel, results, codes))
            shown.add(answer.number)
            continue
        clean = [other.check for other in same if as_it_should_be(knowledge, other)]
        if len(clean) > MANY_AT_ONCE and answer.check in clean:
            if answer.number not in shown:
                names = ", ".join(knowledge.checks[check].name for check in clean)
                yield (answer.at, answer.by, f"as it should be: {names}")
            shown.add(answer.number)
            continue
        name = knowledge.checks[answer.check].name if answer.check in knowledge.checks else answer.check
        codes = numbered[answer.number].payload.get("codes", ())
        told = answer_text(knowledge, answer.check, answer.result, answer.reading)
        second = "second look: " if answer.again else ""
        yield (answer.at, answer.by, f"{name}: {second}{told}", *([f"codes {', '.join(codes)}"] if codes else []))


def _repair_rows(knowledge: KnowledgeBase, data: dict[str, Any]) -> list[tuple[str, ...]]:
    """What was done, and what was passed over: nobody may take that for done."""
    done = [(r["at"], r["by"], r["name"]) for r in data["repairs"]]
    return sorted([*done, *((r["at"], r["by"], f"not done: {r['name']}") for r in data["skipped"])])


def _ending_rows(knowledge: KnowledgeBase, closed: Any, handed_over: str | None) -> list[tuple[str, ...]]:
    if closed is None:
        return [("Handed over", handed_over)] if handed_over is not None else [("Ending", "not ended: this is a draft")]
    rows: list[tuple[str, ...]] = [("Complaint", str(closed.get("words") or closed.get("complaint", "")))]
    rows.append(("Cause", cause_text(knowledge, closed)))
    for title, key in (("Correction", "repairs"), ("Done in vain", "in_vain")):
        names = [knowledge.repairs[x].name if x in knowledge.repairs else x for x in closed.get(key, ())]
        if names or key == "repairs":
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
