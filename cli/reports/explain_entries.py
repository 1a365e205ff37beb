"""Entries explained, a function for each kind: what they are, and what they have to do with others."""

from collections.abc import Iterator

from comeback.cli.reports import explain_fields as fields
from comeback.cli.reports.explain_fields import Field, percent
from comeback.engine.analysis.mimics import mimics
from comeback.kb import schema
from comeback.kb.rules.bearing import bears_on, chance_of
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import CauseKind

SELDOM = 0.05
"""Results that a cause shows in fewer of its cars are counted, not listed."""


def cause(knowledge: KnowledgeBase, entry: schema.Cause) -> Iterator[Field]:
    """Kind, frequency, how the car may be moved, what it shows, what fixes it, what looks like it."""
    yield fields.text("Kind", entry.kind.value)
    per = "services" if entry.kind.needs_service else "cars"
    yield fields.text("How often", f"{entry.frequency:g} of 1000 {per}")
    if entry.service is not None:
        service = knowledge.services[entry.service]
        step = f", step: {service.steps[entry.step].do}" if entry.step else ""
        yield fields.text("After", f"{service.name} ({service.id}){step}")
    yield fields.text("The car", knowledge.dispositions[entry.drive].name)
    yield from fields.own(knowledge, entry, only_if="Only if", explain="What it is", tell="Customer")
    yield _shows(knowledge, entry)
    repairs = [repair for repair in knowledge.repairs.values() if entry.id in repair.removes]
    yield Field("Fixed by", [
        f"{percent(repair.removes[entry.id])} {repair.name} ({repair.id}), {fields.minutes(repair.minutes)}. "
        f"Proof: {fields.result_text(knowledge.checks[repair.proof.check], repair.proof.result)}"
        for repair in sorted(repairs, key=lambda repair: -repair.removes[entry.id])
    ])  # fmt: skip
    yield Field("Looks like", [
        f"{percent(m.likeness)} {knowledge.causes[m.cause].name} ({m.cause}); "
        + (f"told apart by: {knowledge.checks[m.apart_by].name}" if m.apart_by else "no check tells them apart")
        for m in mimics(knowledge, entry)
    ])  # fmt: skip


def _shows(knowledge: KnowledgeBase, entry: schema.Cause) -> Field:
    rows = []
    for name in entry.shows:
        check, chances = knowledge.checks[name], knowledge.chances(entry.id, name)
        rows += [(chance, check, result) for result, chance in zip(check.names, chances, strict=True)][1:]
    rows = sorted((row for row in rows if row[0] > 0), key=lambda row: (-row[0], row[1].id))
    often = [f"{percent(p)} {fields.result_text(of, result)} ({of.id})" for p, of, result in rows if p >= SELDOM]
    seldom = len(rows) - len(often)
    return fields.text("Shows", *often, f"and {seldom} below {100 * SELDOM:.0f} %" if seldom else "")


def check(knowledge: KnowledgeBase, entry: schema.Check) -> Iterator[Field]:
    """How it is made or asked, its results, and which causes show in it."""
    who = ", ".join(audience.value for audience in entry.audience)
    yield fields.text("For", f"{who}; tier {entry.tier.name.lower()}, {fields.minutes(entry.minutes)}")
    yield from fields.own(
        knowledge, entry, say="Read aloud", do="Do", point="Where", tool="With", condition="When", set_up="First",
        only_if="Only if", put_back="Put back", cautions="Cautions",
    )  # fmt: skip
    yield _results(knowledge, entry)
    if entry.remedy is not None:
        told = (entry.remedy.do, f"Not if: {entry.remedy.not_if}", *entry.remedy.then, entry.remedy.again)
        yield fields.text("By caller", *told)
        yield fields.named("Stands for", (entry.remedy.repair,), knowledge.repairs)
    yield _shown_by(knowledge, [(entry.id, result) for result in entry.names[1:]])
    proves = [repair.id for repair in knowledge.repairs.values() if repair.proof.check == entry.id]
    yield fields.named("Proves", proves, knowledge.repairs)
    asked = [c.id for c in knowledge.complaints.values() if entry.id in (*c.reports, *c.red_flags)]
    yield fields.named("Asked for", asked, knowledge.complaints)
    after = [service.id for service in knowledge.services.values() if entry.id in service.red_flags]
    yield fields.named("Asked after", after, knowledge.services)


def _results(knowledge: KnowledgeBase, entry: schema.Check) -> Field:
    """Each result with how often a car without any known cause gives it."""
    lines = []
    for result, chance in zip(entry.names, knowledge.leak(entry.id), strict=True):
        more = [result]
        if (red := entry.red_flag.get(result)) is not None:
            more.append(f"danger sign: {knowledge.dispositions[red].name}")
        if codes := entry.codes.get(result):
            more.append(", ".join(codes))
        if entry.reading and result in entry.reading.bands:
            low, high = entry.reading.bands[result]
            more.append(f"{low:g} to {high:g} {entry.reading.unit}")
        lines.append(f"{percent(chance)} {entry.results[result]} ({'; '.join(more)})")
    return Field("Normal", lines)


def _shown_by(knowledge: KnowledgeBase, results: list[tuple[str, str]]) -> Field:
    """Causes that show any of the (check, result) pairs."""
    found = [
        (entry, chance, result if len(results) > 1 else "")
        for entry in knowledge.causes
        for name, result in results
        if (chance := chance_of(knowledge, entry, name, [result])) > 0
    ]
    return fields.causes(knowledge, "Shown by", found)


def code(knowledge: KnowledgeBase, entry: schema.Code) -> Iterator[Field]:
    """What the code says, which result it counts as, and which causes set it."""
    yield from fields.own(knowledge, entry, meaning="Meaning", note="Note")
    results = [
        (check.id, result)
        for check in knowledge.checks.values()
        for result, codes in check.codes.items()
        if entry.id in codes
    ]
    lines = [f"{fields.result_text(knowledge.checks[name], result)} ({name})" for name, result in results]
    yield Field("Counts as", lines or ["Not a check result: it is noted and says nothing more."])
    yield _shown_by(knowledge, results)


def repair(knowledge: KnowledgeBase, entry: schema.Repair) -> Iterator[Field]:
    """What it fixes, its steps, its hazards and its proof."""
    parts = f", parts {entry.parts:g}" if entry.parts else ""
    tier = f"tier {entry.tier.name.lower()}, by a {entry.level.value}"
    yield fields.text("Cost", f"{fields.minutes(entry.minutes)}{parts}; {tier}")
    yield from fields.own(
        knowledge, entry, only_if="Only if", set_up="First", cautions="Cautions", steps="Steps", put_back="Put back",
        procedures="Then", never="Never",
    )  # fmt: skip
    proof = fields.result_text(knowledge.checks[entry.proof.check], entry.proof.result)
    yield fields.text("Proof", f"{proof} ({entry.proof.check})")
    removed = sorted(entry.removes.items(), key=lambda pair: -pair[1])
    yield Field("Fixes", [f"{percent(chance)} {knowledge.causes[name].name} ({name})" for name, chance in removed])


def complaint(knowledge: KnowledgeBase, entry: schema.Complaint) -> Iterator[Field]:
    """How customers say it, what is asked first, and what it mostly is."""
    yield from fields.own(knowledge, entry, words="Said as")
    reports = [fields.result_text(knowledge.checks[c], result) + f" ({c})" for c, result in entry.reports.items()]
    yield Field("Reports", reports)
    yield from fields.own(knowledge, entry, red_flags="Asked first", services="Only after")
    yield fields.named("Once gone", entry.once_gone, {**knowledge.checks, **knowledge.panels})
    bearing = ((name, chance, "") for name, chance in bears_on(knowledge, entry).items())
    yield fields.causes(knowledge, "Comes from", bearing)


def service(knowledge: KnowledgeBase, entry: schema.Service) -> Iterator[Field]:
    """Its steps, what can go wrong in each, and what to check before the keys go back."""
    own = [cause for cause in knowledge.causes.values() if cause.service == entry.id]
    yield from fields.own(knowledge, entry, plain="Customer", words="Also called")
    lines = []
    for number, (name, step) in enumerate(entry.steps.items(), 1):
        slips = [cause for cause in own if cause.step == name and cause.kind is CauseKind.SLIP]
        lines.append(f"{number}. {step.do} ({name})")
        lines += [f"touches {', '.join(step.disturbs)}"] if step.disturbs else []
        lines += [f"{cause.frequency:4g} in 1000: {cause.name} ({cause.id})" for cause in slips]
    yield Field("Steps", lines)
    after = [cause.id for cause in own if cause.kind is CauseKind.AFTER_EFFECT]
    yield fields.named("Afterwards", after, knowledge.causes)
    yield from fields.own(knowledge, entry, red_flags="Asked first", handover="Before keys", advice="Advice")


def caution(knowledge: KnowledgeBase, entry: schema.Caution) -> Iterator[Field]:
    """Its parts, and what it comes before."""
    yield from fields.own(
        knowledge, entry, word="Signal word", avoid="Avoid", hazard="Hazard", consequence="Otherwise",
        reminder="Reminder",
    )  # fmt: skip
    yield from _before(knowledge, "cautions", entry.id)
    steps = ((s.id, name, step) for s in knowledge.services.values() for name, step in s.steps.items())
    yield Field("Steps", [f"{service}: {name}" for service, name, step in steps if entry.id in step.cautions])


def set_up(knowledge: KnowledgeBase, entry: schema.SetUp) -> Iterator[Field]:
    """What it costs, what it ends, and what needs it."""
    yield from fields.own(knowledge, entry, minutes="Takes", ends="Ends", cautions="Cautions")
    yield from _before(knowledge, "set_up", entry.id)


def _before(knowledge: KnowledgeBase, field: str, name: str) -> Iterator[Field]:
    """What names the entry in that field."""
    for section in ("checks", "repairs", "procedures", "set_ups"):
        found = [e.id for e in getattr(knowledge, section).values() if name in getattr(e, field, ())]
        yield fields.text(section.capitalize().replace("_", "-"), ", ".join(found))


def procedure(knowledge: KnowledgeBase, entry: schema.Procedure) -> Iterator[Field]:
    """When it may begin, its steps, how to see the end, and what follows it."""
    yield from fields.own(
        knowledge, entry, when="Before", only_if="Only if", cautions="Cautions", steps="Steps", done_when="Done when",
        minutes="Takes",
    )  # fmt: skip
    used = [repair.id for repair in knowledge.repairs.values() if entry.id in repair.procedures]
    yield fields.named("Follows", used, knowledge.repairs)


def panel(knowledge: KnowledgeBase, entry: schema.Panel) -> Iterator[Field]:
    """The checks that are read in one go."""
    yield from fields.own(knowledge, entry, do="Do", condition="When", minutes="Takes")
    checks = [check.id for check in knowledge.checks.values() if check.panel == entry.id]
    yield fields.named("Tells", checks, knowledge.checks)


def source(knowledge: KnowledgeBase, entry: schema.Source) -> Iterator[Field]:
    """How far it may be trusted, and how much rests on it."""
    yield from fields.own(knowledge, entry, status="Status", note="Note")
    sections = ("services", "complaints", "causes", "checks", "repairs", "cautions", "procedures", "codes")
    counts = {s: sum(1 for e in getattr(knowledge, s).values() if entry.id in e.source) for s in sections}
    yield fields.text("Named by", ", ".join(f"{n} {s}" for s, n in counts.items() if n) or "nothing")
