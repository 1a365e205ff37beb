"""A case as a record that can be kept: text for people, plain data for programs."""

from collections.abc import Mapping, Sequence
from typing import Any

from comeback.cli.look import Look, Styled
from comeback.cli.prompt.closing_cause import cause_text
from comeback.cli.screens import wording
from comeback.cli.screens.advice_now import AdviceNow, advice_now, state_of
from comeback.cli.screens.panel_text import codes_typed, panel_of, panel_text
from comeback.engine.case.case import Answer, Case, Told, read_case, standing
from comeback.engine.case.events import Event, Kind, first_broken_link
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Disposition

MANY = 4
"""Findings of one screen that are as they should be: more than these stand in one line."""


def case_data(knowledge: KnowledgeBase, events: Sequence[Event]) -> dict[str, Any]:
    """Everything recorded, as plain data; ids with their present names beside them."""
    case, now = read_case(events), advice_now(knowledge, events)
    return {
        "case": case.id,
        "car": case.car,
        "opened_at": case.opened_at,
        "service": case.service,
        "also": list(case.also),
        "complaint": case.complaint,
        "words": case.words,
        "vehicle": dict(case.vehicle),
        "answers": [
            {
                "check": a.check, "name": _name(knowledge.checks, a.check), "result": a.result, "reading": a.reading,
                "after_repairs": a.epoch, "at": a.at, "by": a.by, "audience": a.audience,
            }
            for a in case.answers
        ],
        "repairs": [
            {"repair": d.repair, "name": _name(knowledge.repairs, d.repair), "at": d.at, "by": d.by}
            for d in case.repairs
        ],
        "skipped": skipped(knowledge, events),
        "notes": [{"at": at, "by": by, "text": text} for at, by, text in case.notes],
        "disposition": case.disposition,
        "registration": case.registration,
        "registration_not_confirmed": list(case.unconfirmed),
        "phone": case.phone,
        "place": case.place,
        "told": [vars(told) for told in case.told],
        "due": now.due.word if now.due is not None else None,
        "due_since": now.due_at or None,
        "said_later": [{"at": at, "by": by, "words": words} for at, by, words in case.said],
        "handed_over": case.handed_over,
        "closed": dict(case.closed) if case.closed is not None else None,
        "knowledge": sorted({event.knowledge for event in events}),
        "chain_intact": first_broken_link(events) is None,
        "limits": wording.LIMITS,
        "events": [
            {"number": e.number, "kind": e.kind, "at": e.at, "by": e.by, "payload": dict(e.payload), "hash": e.hash}
            for e in events
        ],
    }  # fmt: skip


def skipped(knowledge: KnowledgeBase, events: Sequence[Event]) -> list[dict[str, str]]:
    """Repairs that somebody passed over and nobody did later."""
    done = {one.repair: one.number for one in read_case(events).repairs}
    return [
        {"repair": e.payload["repair"], "name": _name(knowledge.repairs, e.payload["repair"]), "at": e.at, "by": e.by}
        for e in standing(events)
        if e.kind == Kind.SKIPPED and done.get(e.payload["repair"], 0) < e.number
    ]


def _name(entries: Any, name: str) -> str:
    entry = entries.get(name)
    return entry.name if entry is not None else name


def case_lines(knowledge: KnowledgeBase, events: Sequence[Event], look: Look) -> list[Styled]:
    """The record as text: what was said, found, done and advised, with times and people."""
    case = read_case(events)
    now = advice_now(knowledge, events)
    state = state_of(case, now, case.opened_at)
    lines: list[Styled] = [("title", line) for line in look.wrap(state, 12, f"Case {case.id}   ")]
    service = " + ".join(_name(knowledge.services, done) for done in case.services)
    complaint = _name(knowledge.complaints, case.complaint) if case.complaint else ""
    for title, text in (
        ("Car", case.car), ("Registration", plate_text(case)), ("Call back", case.phone), ("Stands at", case.place),
        ("Opened", case.opened_at), ("Service", service), ("Complaint", complaint), ("In words", case.words),
        ("Told", _told(knowledge, now.told)), ("Due", _due(knowledge, now)),
    ):  # fmt: skip
        if text:
            lines += [("plain", line) for line in look.wrap(text, 14, f"  {title}")]
    lines += _advice(case, look)
    lines += _from_the_car(events, look)
    lines += _found(knowledge, case, look, codes_typed(events))
    for one in skipped(knowledge, events):
        text = f"not done: {one['name']} ({one['by']})"
        lines += [("plain", part) for part in look.wrap(text, 9, f"  {one['at'][11:16]}")]
    lines += _ending(knowledge, case, look)
    corrections = sum(1 for event in events if event.kind == Kind.TAKEN_BACK)
    intact = "intact" if first_broken_link(events) is None else "BROKEN: somebody changed it"
    versions = ", ".join(sorted({event.knowledge for event in events}))
    lines.append(("faint", f"  {len(events)} events, {corrections} taken back, chain {intact}, knowledge {versions}"))
    return [*lines, *[("faint", line) for line in look.wrap(wording.LIMITS, 2, "  ")]]


def plate_text(case: Case) -> str:
    """The registration; one that was typed only once says so."""
    if case.registration:
        return case.registration
    return f"{', '.join(case.unconfirmed)} (not confirmed: typed once)" if case.unconfirmed else ""


def _told(knowledge: KnowledgeBase, told: Told | None) -> str:
    if told is None:
        return ""
    name = knowledge.dispositions[Disposition.of(told.disposition)].name
    return f"{name} ({told.how}{f': {told.words}' if told.words else ''}; {told.at[:16].replace('T', ' ')}, {told.by})"


def _due(knowledge: KnowledgeBase, now: AdviceNow) -> str:
    if now.due is None:
        return ""
    heard = f"read out {now.heard.at[11:16]}, not agreed" if now.heard else "NOT TOLD"
    return f"{knowledge.dispositions[now.due].name} (since {now.due_at[:16].replace('T', ' ')}; {heard})"


def _advice(case: Case, look: Look) -> list[Styled]:
    """Every advice that was read out, every change by a person with its reason, and what later calls brought."""
    rows = [(t.at, f"{t.how}: {t.disposition}{f' - {t.words}' if t.words else ''} ({t.by})") for t in case.told]
    for o in case.overrides:
        second = f", agreed by {o.second}" if o.second else ""
        rows.append((o.at, f"set from {o.ruled} to {o.to}: {o.reason} ({o.by}{second})"))
    rows += [(at, f"called again: {words or 'nothing has changed'} ({by})") for at, by, words in case.said]
    lines = [("plain", part) for at, text in sorted(rows) for part in look.wrap(text, 9, f"  {at[11:16]}")]
    return [("title", "Advice"), *lines] if lines else []


def answer_text(knowledge: KnowledgeBase, check: str, result: str | None, reading: str) -> str:
    """`52 kPa: above 45 kPa`, or the result's words, or "don't know"."""
    if result is None:
        return "don't know"
    known = knowledge.checks.get(check)
    label = known.results.get(result, result) if known else result
    return f"{reading}: {label}" if reading else label


def _from_the_car(events: Sequence[Event], look: Look) -> list[Styled]:
    """What was saved of what the car itself said, and when codes were cleared."""
    lines: list[Styled] = []
    for event in events:
        if event.kind == Kind.EVIDENCE:
            codes = sorted({code for told in event.payload.get("codes", {}).values() for code in told})
            text = f"saved from the car: {', '.join(codes) or 'no codes'}"
        elif event.kind == Kind.CODES_CLEARED:
            text = "codes cleared" if event.payload.get("accepted") else "the car did not clear its codes"
        else:
            continue
        lines += [("plain", part) for part in look.wrap(f"{text} ({event.by})", 9, f"  {event.at[11:16]}")]
    return [("title", "From the car"), *lines] if lines else []


def _found(knowledge: KnowledgeBase, case: Case, look: Look, codes: Mapping[int, Sequence[str]]) -> list[Styled]:
    lines: list[Styled] = [("title", "Findings")] if case.answers else []
    quiet: set[int] = set()
    epochs = {done.epoch: done for done in case.repairs}
    shown, told = 0, _many_at_once(knowledge, case)
    for answer in case.answers:
        while shown < answer.epoch:
            shown += 1
            done = epochs[shown]
            lines.append(("say", f"  {done.at[11:16]}  repaired: {_name(knowledge.repairs, done.repair)} ({done.by})"))
        same = {other.check: other.result for other in case.answers if other.number == answer.number}
        panel = panel_of(knowledge, same)
        if panel is not None:
            if answer.number not in quiet:
                line = f"{panel_text(knowledge, panel, same, codes.get(answer.number, ()))} ({answer.by})"
                lines += [("plain", part) for part in look.wrap(line, 9, f"  {answer.at[11:16]}")]
            quiet.add(answer.number)
            continue
        if answer.check in told.get(answer.number, ()):
            names = ", ".join(_name(knowledge.checks, check) for check in told.pop(answer.number))
            line = f"as it should be: {names} ({answer.by})"
            lines += [("plain", part) for part in look.wrap(line, 9, f"  {answer.at[11:16]}")]
            quiet.add(answer.number)
            continue
        if answer.number in quiet and as_it_should_be(knowledge, answer):
            continue
        text = answer_text(knowledge, answer.check, answer.result, answer.reading)
        second = "second look: " if answer.again else ""
        line = f"{_name(knowledge.checks, answer.check)}: {second}{text} ({answer.by})"
        lines += [("plain", part) for part in look.wrap(line, 9, f"  {answer.at[11:16]}")]
    for done in case.repairs[shown:]:
        lines.append(("say", f"  {done.at[11:16]}  repaired: {_name(knowledge.repairs, done.repair)} ({done.by})"))
    for at, by, text in case.notes:
        lines += [("plain", part) for part in look.wrap(f"note: {text} ({by})", 9, f"  {at[11:16]}")]
    return lines


def _many_at_once(knowledge: KnowledgeBase, case: Case) -> dict[int, list[str]]:
    """Checks as they should be, by the number of the screen that answered more than MANY: one line tells all."""
    found: dict[int, list[str]] = {}
    for answer in case.answers:
        if as_it_should_be(knowledge, answer) and not answer.reading and not answer.again:
            found.setdefault(answer.number, []).append(answer.check)
    return {number: checks for number, checks in found.items() if len(checks) > MANY}


def as_it_should_be(knowledge: KnowledgeBase, answer: Answer) -> bool:
    """The expected result, found once and without a reading: many of these stand in one line."""
    known = knowledge.checks.get(answer.check)
    return known is not None and answer.result == known.expected and not answer.reading and not answer.again


def _ending(knowledge: KnowledgeBase, case: Case, look: Look) -> list[Styled]:
    lines: list[Styled] = []
    if case.handed_over is not None:
        lines += [("title", line) for line in look.wrap(case.handed_over, 14, "  Handed over")]
    if case.closed is not None:
        data = case.closed
        repairs = ", ".join(_name(knowledge.repairs, r) for r in data.get("repairs", ()))
        for title, text in (
            ("Complaint", data.get("words") or _name(knowledge.complaints, data.get("complaint", ""))),
            ("Cause", cause_text(knowledge, data)),
            ("Correction", repairs),
            ("Done in vain", ", ".join(_name(knowledge.repairs, r) for r in data.get("in_vain", ()))),
            ("Proven", "yes" if data.get("proven") else "not proven: not all could be seen"),
        ):
            if text:
                lines += [("title", line) for line in look.wrap(text, 16, f"  {title}")]
    return lines
