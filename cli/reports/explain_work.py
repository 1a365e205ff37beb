"""Repairs, complaints, services, cautions and the like explained."""

from collections.abc import Iterator

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


def repair(knowledge: KnowledgeBase, entry: Repair) -> Iterator[Field]:
    """What it fixes, its steps, its hazards and its proof."""
    parts = f", parts {entry.parts:g}" if entry.parts else ""
    tier = f"tier {entry.tier.name.lower()}, by a {entry.level.value}"
    yield fields.text("Cost", f"{fields.minutes(entry.minutes)}{parts}; {tier}")
    yield fields.condition(entry.only_if)
    yield fields.named("First", entry.set_up, knowledge.set_ups)
    yield fields.cautions(knowledge, entry.cautions)
    yield fields.numbered("Steps", entry.steps)
    yield fields.text("Put back", *entry.put_back)
    yield fields.named("Then", entry.procedures, knowledge.procedures)
    yield fields.text("Never", entry.never)
    proof = fields.result_text(knowledge.checks[entry.proof.check], entry.proof.result)
    yield fields.text("Proof", f"{proof} ({entry.proof.check})")
    removed = sorted(entry.removes.items(), key=lambda pair: -pair[1])
    yield Field("Fixes", [f"{percent(chance)} {knowledge.causes[name].name} ({name})" for name, chance in removed])
    yield fields.sources(knowledge, entry.source)


def complaint(knowledge: KnowledgeBase, entry: Complaint) -> Iterator[Field]:
    """How customers say it, what is asked first, and what it mostly is."""
    yield fields.text("Said as", "; ".join(entry.words))
    reports = [fields.result_text(knowledge.checks[c], result) + f" ({c})" for c, result in entry.reports.items()]
    yield Field("Reports", reports)
    yield fields.named("Asked first", entry.red_flags, knowledge.checks)
    yield fields.named("Only after", entry.services, knowledge.services)
    yield fields.named("Once gone", entry.once_gone, {**knowledge.checks, **knowledge.panels})
    bearing = ((name, chance, "") for name, chance in bears_on(knowledge, entry).items())
    yield fields.causes(knowledge, "Comes from", bearing)
    yield fields.sources(knowledge, entry.source)


def service(knowledge: KnowledgeBase, entry: Service) -> Iterator[Field]:
    """Its steps, what can go wrong in each, and what to check before the keys go back."""
    own = [cause for cause in knowledge.causes.values() if cause.service == entry.id]
    yield fields.text("Customer", entry.plain)
    yield fields.text("Also called", "; ".join(entry.words))
    lines = []
    for number, (name, step) in enumerate(entry.steps.items(), 1):
        slips = [cause for cause in own if cause.step == name and cause.kind is CauseKind.SLIP]
        lines.append(f"{number}. {step.do} ({name})")
        lines += [f"touches {', '.join(step.disturbs)}"] if step.disturbs else []
        lines += [f"{cause.frequency:4g} in 1000: {cause.name} ({cause.id})" for cause in slips]
    yield Field("Steps", lines)
    after = [cause.id for cause in own if cause.kind is CauseKind.AFTER_EFFECT]
    yield fields.named("Afterwards", after, knowledge.causes)
    yield fields.named("Before keys", entry.handover, knowledge.checks)
    yield fields.text("Advice", *entry.advice)
    yield fields.sources(knowledge, entry.source)


def caution(knowledge: KnowledgeBase, entry: Caution) -> Iterator[Field]:
    """Its parts, and what it comes before."""
    yield fields.text("Signal word", entry.word.value)
    yield fields.text("Avoid", entry.avoid)
    yield fields.text("Hazard", entry.hazard)
    yield fields.text("Otherwise", entry.consequence)
    yield fields.text("Reminder", entry.reminder)
    yield from _before(knowledge, "cautions", entry.id)
    steps = ((s.id, name, step) for s in knowledge.services.values() for name, step in s.steps.items())
    yield Field("Steps", [f"{service}: {name}" for service, name, step in steps if entry.id in step.cautions])
    yield fields.sources(knowledge, entry.source)


def set_up(knowledge: KnowledgeBase, entry: SetUp) -> Iterator[Field]:
    """What it costs, what it ends, and what needs it."""
    yield fields.text("Takes", fields.minutes(entry.minutes))
    yield fields.named("Ends", entry.ends, knowledge.set_ups)
    yield fields.cautions(knowledge, entry.cautions)
    yield from _before(knowledge, "set_up", entry.id)
    yield fields.sources(knowledge, entry.source)


def _before(knowledge: KnowledgeBase, field: str, name: str) -> Iterator[Field]:
    """What names the entry in that field."""
    for section in ("checks", "repairs", "procedures", "set_ups"):
        found = [e.id for e in getattr(knowledge, section).values() if name in getattr(e, field, ())]
        yield fields.text(section.capitalize().replace("_", "-"), ", ".join(found))


def procedure(knowledge: KnowledgeBase, entry: Procedure) -> Iterator[Field]:
    """When it may begin, its steps, how to see the end, and what follows it."""
    yield fields.text("Before", entry.when)
    yield fields.condition(entry.only_if)
    yield fields.cautions(knowledge, entry.cautions)
    yield fields.numbered("Steps", entry.steps)
    yield fields.text("Done when", entry.done_when)
    yield fields.text("Takes", fields.minutes(entry.minutes))
    used = [repair.id for repair in knowledge.repairs.values() if entry.id in repair.procedures]
    yield fields.named("Follows", used, knowledge.repairs)
    yield fields.sources(knowledge, entry.source)


def panel(knowledge: KnowledgeBase, entry: Panel) -> Iterator[Field]:
    """The checks that are read in one go."""
    yield fields.text("Do", entry.do)
    yield fields.text("When", entry.condition)
    yield fields.text("Takes", fields.minutes(entry.minutes))
    checks = [check.id for check in knowledge.checks.values() if check.panel == entry.id]
    yield fields.named("Tells", checks, knowledge.checks)
    yield fields.sources(knowledge, entry.source)


def source(knowledge: KnowledgeBase, entry: Source) -> Iterator[Field]:
    """How far it may be trusted, and how much rests on it."""
    yield fields.text("Status", entry.status)
    yield fields.text("Note", entry.note)
    sections = ("services", "complaints", "causes", "checks", "repairs", "cautions", "procedures", "codes")
    counts = {s: sum(1 for e in getattr(knowledge, s).values() if entry.id in e.source) for s in sections}
    yield fields.text("Named by", ", ".join(f"{n} {s}" for s, n in counts.items() if n) or "nothing")
