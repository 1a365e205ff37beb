"""Causes, checks and trouble codes explained: what shows in what, how often, and what looks alike."""

from collections.abc import Iterator
from typing import Any

from comeback.cli.reports import explain_fields as fields
from comeback.cli.reports.explain_fields import Field, percent
from comeback.engine.analysis.mimics import mimics
from comeback.kb.schema import Cause, Check, Code, KnowledgeBase

MOST = 12
SELDOM = 0.05
"""Results that a cause shows in fewer of its cars are counted, not listed."""


def cause(knowledge: KnowledgeBase, entry: Cause) -> Iterator[Field]:
    """Kind, frequency, how the car may be moved, what it shows, what cures it, what looks like it."""
    per = "services" if entry.kind.needs_service else "cars"
    yield fields.text("cause_kind", "Kind", entry.kind.value)
    yield Field("frequency", "How often", entry.frequency, [f"{entry.frequency:g} of 1000 {per}"])
    if entry.service is not None:
        service = knowledge.services[entry.service]
        step = f", step: {service.steps[entry.step].do}" if entry.step else ""
        yield Field(
            "service", "After", {"id": service.id, "step": entry.step}, [f"{service.name} ({service.id}){step}"]
        )
    yield Field("drive", "The car", entry.drive.word, [knowledge.dispositions[entry.drive].name])
    yield fields.condition(entry.only_if)
    yield fields.text("explain", "What it is", entry.explain)
    yield fields.text("tell", "Customer", entry.tell)
    yield _shows(knowledge, entry)
    yield _cures(knowledge, entry)
    yield _mimics(knowledge, entry)
    yield fields.sources(knowledge, entry.source)


def _shows(knowledge: KnowledgeBase, entry: Cause) -> Field:
    rows: list[dict[str, Any]] = []
    for name in entry.shows:
        check, leak = knowledge.checks[name], knowledge.leak(name)
        for i, chance in enumerate(knowledge.chances(entry.id, name)):
            if i and chance > 0:
                rows.append({"check": name, "result": check.names[i], "chance": chance, "otherwise": leak[i]})
    rows.sort(key=lambda row: (-row["chance"], row["check"]))
    often = [row for row in rows if row["chance"] >= SELDOM]
    lines = [f"{percent(r['chance'])} {_shown(knowledge, r)}" for r in often]
    if len(rows) > len(often):
        lines.append(f"and {len(rows) - len(often)} below {100 * SELDOM:.0f} %; --json lists all")
    return Field("shows", "Shows", rows, lines)


def _shown(knowledge: KnowledgeBase, row: dict[str, Any]) -> str:
    return f"{fields.result_text(knowledge.checks[row['check']], row['result'])} ({row['check']})"


def _cures(knowledge: KnowledgeBase, entry: Cause) -> Field:
    repairs = [repair for repair in knowledge.repairs.values() if entry.id in repair.removes]
    rows: list[dict[str, Any]] = [
        {"repair": r.id, "cures": r.removes[entry.id], "minutes": r.minutes, "proof": r.proof.check,
         "proof_result": r.proof.result} for r in sorted(repairs, key=lambda r: -r.removes[entry.id])
    ]  # fmt: skip
    lines = [
        f"{percent(row['cures'])} {knowledge.repairs[row['repair']].name} ({row['repair']}), "
        f"{fields.minutes(row['minutes'])}. Proof: "
        f"{fields.result_text(knowledge.checks[row['proof']], row['proof_result'])}"
        for row in rows
    ]
    return Field("repairs", "Fixed by", rows, lines)


def _mimics(knowledge: KnowledgeBase, entry: Cause) -> Field:
    found = mimics(knowledge, entry)
    data = [{"cause": m.cause, "likeness": m.likeness, "apart_by": m.apart_by, "apart": m.apart} for m in found]
    lines = [
        f"{percent(m.likeness)} {knowledge.causes[m.cause].name} ({m.cause})"
        + (
            f"; this check tells them apart: {knowledge.checks[m.apart_by].name}"
            if m.apart_by
            else "; no check tells them apart"
        )
        for m in found
    ]
    return Field("mimics", "Looks like", data, lines)


def check(knowledge: KnowledgeBase, entry: Check) -> Iterator[Field]:
    """How it is made or asked, its results, and which causes show in it."""
    tier, who = entry.tier.name.lower(), ", ".join(audience.value for audience in entry.audience)
    yield Field(
        "audience", "For", [a.value for a in entry.audience], [f"{who}; tier {tier}, {fields.minutes(entry.minutes)}"]
    )
    yield Field("minutes", "Minutes", entry.minutes, [])
    yield fields.text("say", "Read aloud", entry.say)
    for label, key, value in (("Do", "do", entry.do), ("Where", "point", entry.point), ("With", "tool", entry.tool),
                              ("When", "condition", entry.condition)):  # fmt: skip
        yield fields.text(key, label, value)
    yield fields.named("set_up", "First", entry.set_up, knowledge.set_ups)
    yield fields.condition(entry.only_if)
    yield fields.texts("put_back", "Put back", entry.put_back)
    yield fields.cautions(knowledge, entry.cautions)
    yield _results(knowledge, entry)
    yield _causes(knowledge, [(entry.id, result) for result in entry.names[1:]])
    proves = [repair.id for repair in knowledge.repairs.values() if repair.proof.check == entry.id]
    yield fields.named("proves", "Proves", proves, knowledge.repairs)
    told = [c.id for c in knowledge.complaints.values() if entry.id in (*c.reports, *c.red_flags)]
    yield fields.named("complaints", "Asked for", told, knowledge.complaints)
    yield fields.sources(knowledge, entry.source)


def _results(knowledge: KnowledgeBase, entry: Check) -> Field:
    rows, lines = [], []
    for result, chance in zip(entry.names, knowledge.leak(entry.id), strict=True):
        red, codes = entry.red_flag.get(result), list(entry.codes.get(result, ()))
        rows.append({"result": result, "label": entry.results[result], "otherwise": chance, "codes": codes,
                     "red_flag": red.word if red is not None else None})  # fmt: skip
        more = [f"danger sign: {knowledge.dispositions[red].name}"] if red is not None else []
        more += [", ".join(codes)] if codes else []
        if entry.reading and result in entry.reading.bands:
            low, high = entry.reading.bands[result]
            more.append(f"{low:g} to {high:g} {entry.reading.unit}")
        lines.append(f"{percent(chance)} {entry.results[result]} ({'; '.join([result, *more])})")
    return Field("results", "Normal", rows, lines)


def _causes(knowledge: KnowledgeBase, results: list[tuple[str, str]]) -> Field:
    """Causes that show any of the (check, result) pairs, the most frequent such cars first."""
    rows: list[dict[str, Any]] = []
    for entry in knowledge.causes.values():
        for name, result in results:
            number = knowledge.checks[name].names.index(result)
            chance = knowledge.chances(entry.id, name)[number] if name in entry.shows else 0.0
            if chance > 0:
                rows.append({"cause": entry.id, "check": name, "result": result, "chance": chance,
                             "cars_per_1000": chance * entry.frequency})  # fmt: skip
    rows.sort(key=lambda row: (-row["cars_per_1000"], row["cause"]))
    several = len(results) > 1
    lines = [fields.bearing(knowledge, r["cause"], r["chance"], r["result"] if several else "") for r in rows[:MOST]]
    if len(rows) > MOST:
        lines.append(f"and {len(rows) - MOST} more; --json lists all")
    return Field("causes", "Shown by", rows, lines)


def code(knowledge: KnowledgeBase, entry: Code) -> Iterator[Field]:
    """What the code says, which result it counts as, and which causes set it."""
    yield fields.text("meaning", "Meaning", entry.meaning)
    yield fields.text("note", "Note", entry.note)
    results = [
        (check.id, result)
        for check in knowledge.checks.values()
        for result, codes in check.codes.items()
        if entry.id in codes
    ]
    lines = [fields.result_text(knowledge.checks[name], result) + f" ({name})" for name, result in results]
    data = [{"check": name, "result": result} for name, result in results]
    yield Field("counts_as", "Counts as", data, lines or ["Not a check result: it is noted and says nothing more."])
    yield _causes(knowledge, results)
    yield fields.sources(knowledge, entry.source)
