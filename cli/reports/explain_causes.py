"""Causes, checks and trouble codes explained: what shows in what, how often, and what looks alike."""

from collections.abc import Iterator

from comeback.cli.reports import explain_fields as fields
from comeback.cli.reports.explain_fields import Field, percent
from comeback.engine.analysis.mimics import mimics
from comeback.kb.rules.bearing import chance_of
from comeback.kb.schema import Cause, Check, Code, KnowledgeBase

SELDOM = 0.05
"""Results that a cause shows in fewer of its cars are counted, not listed."""


def cause(knowledge: KnowledgeBase, entry: Cause) -> Iterator[Field]:
    """Kind, frequency, how the car may be moved, what it shows, what fixes it, what looks like it."""
    yield fields.text("Kind", entry.kind.value)
    per = "services" if entry.kind.needs_service else "cars"
    yield fields.text("How often", f"{entry.frequency:g} of 1000 {per}")
    if entry.service is not None:
        service = knowledge.services[entry.service]
        step = f", step: {service.steps[entry.step].do}" if entry.step else ""
        yield fields.text("After", f"{service.name} ({service.id}){step}")
    yield fields.text("The car", knowledge.dispositions[entry.drive].name)
    yield fields.condition(entry.only_if)
    yield fields.text("What it is", entry.explain)
    yield fields.text("Customer", entry.tell)
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
    yield fields.sources(knowledge, entry.source)


def _shows(knowledge: KnowledgeBase, entry: Cause) -> Field:
    rows = []
    for name in entry.shows:
        check, chances = knowledge.checks[name], knowledge.chances(entry.id, name)
        rows += [(chance, check, result) for result, chance in zip(check.names, chances, strict=True)][1:]
    rows = sorted((row for row in rows if row[0] > 0), key=lambda row: (-row[0], row[1].id))
    often = [f"{percent(p)} {fields.result_text(of, result)} ({of.id})" for p, of, result in rows if p >= SELDOM]
    seldom = len(rows) - len(often)
    return fields.text("Shows", *often, f"and {seldom} below {100 * SELDOM:.0f} %" if seldom else "")


def check(knowledge: KnowledgeBase, entry: Check) -> Iterator[Field]:
    """How it is made or asked, its results, and which causes show in it."""
    who = ", ".join(audience.value for audience in entry.audience)
    yield fields.text("For", f"{who}; tier {entry.tier.name.lower()}, {fields.minutes(entry.minutes)}")
    yield fields.text("Read aloud", entry.say)
    yield fields.text("Do", entry.do)
    yield fields.text("Where", entry.point)
    yield fields.text("With", entry.tool)
    yield fields.text("When", entry.condition)
    yield fields.named("First", entry.set_up, knowledge.set_ups)
    yield fields.condition(entry.only_if)
    yield fields.text("Put back", *entry.put_back)
    yield fields.cautions(knowledge, entry.cautions)
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
    yield fields.sources(knowledge, entry.source)


def _results(knowledge: KnowledgeBase, entry: Check) -> Field:
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


def code(knowledge: KnowledgeBase, entry: Code) -> Iterator[Field]:
    """What the code says, which result it counts as, and which causes set it."""
    yield fields.text("Meaning", entry.meaning)
    yield fields.text("Note", entry.note)
    results = [
        (check.id, result)
        for check in knowledge.checks.values()
        for result, codes in check.codes.items()
        if entry.id in codes
    ]
    lines = [f"{fields.result_text(knowledge.checks[name], result)} ({name})" for name, result in results]
    yield Field("Counts as", lines or ["Not a check result: it is noted and says nothing more."])
    yield _shown_by(knowledge, results)
    yield fields.sources(knowledge, entry.source)
