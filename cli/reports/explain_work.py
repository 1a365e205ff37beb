"""Repairs, complaints, services, cautions and the like explained."""

from collections.abc import Iterator, Mapping
from typing import Any

from comeback.cli.reports import explain_fields as fields
from comeback.cli.reports.explain_fields import Field, percent
from comeback.kb.rules.bearing import bears_on
from comeback.kb.schema import (
    Caution,
    Complaint,
    KnowledgeBase,
    Panel,
    Procedure,
    Repair,
    Service,
    SetUp,
    Source,
)
from comeback.kb.vocabulary import CauseKind

MOST = 12


def repair(knowledge: KnowledgeBase, entry: Repair) -> Iterator[Field]:
    """What it cures, its steps, its hazards and its proof."""
    parts = f", parts {entry.parts:g}" if entry.parts else ""
    cost = f"{fields.minutes(entry.minutes)}{parts}; tier {entry.tier.name.lower()}, by a {entry.level.value}"
    yield Field("cost", "Cost", {"minutes": entry.minutes, "parts": entry.parts}, [cost])
    yield fields.condition(entry.only_if)
    yield fields.named("set_up", "First", entry.set_up, knowledge.set_ups)
    yield fields.cautions(knowledge, entry.cautions)
    yield fields.numbered("steps", "Steps", entry.steps)
    yield fields.texts("put_back", "Put back", entry.put_back)
    yield fields.named("procedures", "Then", entry.procedures, knowledge.procedures)
    yield fields.text("never", "Never", entry.never)
    proof = fields.result_text(knowledge.checks[entry.proof.check], entry.proof.result)
    yield Field(
        "proof", "Proof", {"check": entry.proof.check, "result": entry.proof.result}, [f"{proof} ({entry.proof.check})"]
    )
    removed = sorted(entry.removes.items(), key=lambda pair: -pair[1])
    lines = [f"{percent(chance)} {knowledge.causes[name].name} ({name})" for name, chance in removed]
    yield Field("removes", "Cures", [{"cause": name, "chance": chance} for name, chance in removed], lines)
    yield fields.sources(knowledge, entry.source)


def complaint(knowledge: KnowledgeBase, entry: Complaint) -> Iterator[Field]:
    """How customers say it, what is asked first, and what it mostly is."""
    yield fields.text("words", "Said as", "; ".join(entry.words))
    reports = [fields.result_text(knowledge.checks[c], result) + f" ({c})" for c, result in entry.reports.items()]
    yield Field("reports", "Reports", dict(entry.reports), reports)
    yield fields.named("red_flags", "Asked first", entry.red_flags, knowledge.checks)
    yield fields.named("services", "Only after", entry.services, knowledge.services)
    rows: list[dict[str, Any]] = [
        {"cause": name, "chance": chance, "cars_per_1000": chance * knowledge.causes[name].frequency}
        for name, chance in bears_on(knowledge, entry).items()
    ]
    rows.sort(key=lambda row: (-row["cars_per_1000"], row["cause"]))
    lines = [fields.bearing(knowledge, row["cause"], row["chance"]) for row in rows[:MOST]]
    if len(rows) > MOST:
        lines.append(f"and {len(rows) - MOST} more; --json lists all")
    yield Field("causes", "Comes from", rows, lines)
    yield fields.sources(knowledge, entry.source)


def service(knowledge: KnowledgeBase, entry: Service) -> Iterator[Field]:
    """Its steps, what can go wrong in each, and what to check before the keys go back."""
    own = [cause for cause in knowledge.causes.values() if cause.service == entry.id]
    yield fields.text("plain", "Customer", entry.plain)
    yield fields.text("words", "Also called", "; ".join(entry.words))
    rows, lines = [], []
    for number, (name, step) in enumerate(entry.steps.items(), 1):
        slips = [cause for cause in own if cause.step == name and cause.kind is CauseKind.SLIP]
        rows.append({"step": name, "do": step.do, "slips": [cause.id for cause in slips]})
        lines.append(f"{number}. {step.do} ({name})")
        lines += [f"{cause.frequency:4g} in 1000: {cause.name} ({cause.id})" for cause in slips]
    yield Field("steps", "Steps", rows, lines)
    after = [cause.id for cause in own if cause.kind is CauseKind.AFTER_EFFECT]
    yield fields.named("after_effects", "Afterwards", after, knowledge.causes)
    yield fields.named("handover", "Before keys", entry.handover, knowledge.checks)
    yield fields.texts("advice", "Advice", entry.advice)
    yield fields.sources(knowledge, entry.source)


def caution(knowledge: KnowledgeBase, entry: Caution) -> Iterator[Field]:
    """Its parts, and what it stands before."""
    yield fields.text("word", "Signal word", entry.word.value)
    parts = (("Avoid", "avoid"), ("Hazard", "hazard"), ("Otherwise", "consequence"), ("Reminder", "reminder"))
    for label, key in parts:
        yield fields.text(key, label, getattr(entry, key))
    yield from _before(knowledge, "cautions", entry.id)
    named = [
        f"{s.id}: {name}"
        for s in knowledge.services.values()
        for name, st in s.steps.items()
        if entry.id in st.cautions
    ]
    yield fields.texts("service_steps", "Steps", named)
    yield fields.sources(knowledge, entry.source)


def set_up(knowledge: KnowledgeBase, entry: SetUp) -> Iterator[Field]:
    """What it costs, what it ends, and what needs it."""
    yield Field("minutes", "Takes", entry.minutes, [fields.minutes(entry.minutes)])
    yield fields.named("ends", "Ends", entry.ends, knowledge.set_ups)
    yield fields.cautions(knowledge, entry.cautions)
    yield from _before(knowledge, "set_up", entry.id)
    yield fields.sources(knowledge, entry.source)


def _before(knowledge: KnowledgeBase, field: str, name: str) -> Iterator[Field]:
    groups: tuple[tuple[str, str, Mapping[str, Any]], ...] = (
        ("checks", "Checks", knowledge.checks),
        ("repairs", "Repairs", knowledge.repairs),
        ("procedures", "Procedures", knowledge.procedures),
        ("set_ups", "Set-ups", knowledge.set_ups),
    )
    for key, label, entries in groups:
        found = [entry.id for entry in entries.values() if name in getattr(entry, field, ())]
        yield Field(key, label, found, [", ".join(found)] if found else [])


def procedure(knowledge: KnowledgeBase, entry: Procedure) -> Iterator[Field]:
    """When it may begin, its steps, how one sees the end, and what follows it."""
    yield fields.text("when", "Before", entry.when)
    yield fields.condition(entry.only_if)
    yield fields.cautions(knowledge, entry.cautions)
    yield fields.numbered("steps", "Steps", entry.steps)
    yield fields.text("done_when", "Done when", entry.done_when)
    yield Field("minutes", "Takes", entry.minutes, [fields.minutes(entry.minutes)])
    used = [repair.id for repair in knowledge.repairs.values() if entry.id in repair.procedures]
    yield fields.named("repairs", "Follows", used, knowledge.repairs)
    yield fields.sources(knowledge, entry.source)


def panel(knowledge: KnowledgeBase, entry: Panel) -> Iterator[Field]:
    """The checks that are read at one go."""
    yield fields.text("do", "Do", entry.do)
    yield fields.text("condition", "When", entry.condition)
    yield Field("minutes", "Takes", entry.minutes, [fields.minutes(entry.minutes)])
    checks = [check.id for check in knowledge.checks.values() if check.panel == entry.id]
    yield fields.named("checks", "Tells", checks, knowledge.checks)
    yield fields.sources(knowledge, entry.source)


def source(knowledge: KnowledgeBase, entry: Source) -> Iterator[Field]:
    """How far it may be trusted, and how much rests on it."""
    yield fields.text("status", "Status", entry.status)
    yield fields.text("note", "Note", entry.note)
    sections = ("services", "complaints", "causes", "checks", "repairs", "cautions", "procedures", "codes")
    counts = {s: sum(1 for e in getattr(knowledge, s).values() if entry.id in e.source) for s in sections}
    yield Field("entries", "Named by", counts, [", ".join(f"{n} {s}" for s, n in counts.items() if n) or "nothing"])
