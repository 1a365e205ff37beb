"""Rules for chances, bands and frequencies, for proofs, and for entries that nothing uses."""

from collections.abc import Iterator, Mapping
from itertools import pairwise

from comeback.kb.rules.words import Broken
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience, CauseKind


def chance_of_exactly_0_or_100(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Only logic is certain: no finding can ever outweigh a chance of 0 or 100 %."""
    for cause in knowledge.causes.values():
        for check, shows in cause.shows.items():
            written = shows.values() if isinstance(shows, Mapping) else (shows,)
            if any(chance in (0.0, 1.0) for chance in written):
                yield ("causes", cause.id, "shows", check), "A chance of exactly 0 or 100 %. Write 1 or 99."
    for name in knowledge.checks:
        if any(chance in (0.0, 1.0) for chance in knowledge.leak(name)[1:]):
            message = "`otherwise` must give every abnormal result a chance above 0 and below 100 %."
            yield ("checks", name, "otherwise"), message


def bands_with_a_gap(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Bands must cover the possible range once: no reading without a result, none with two."""
    for check in knowledge.checks.values():
        if check.reading is not None:
            low, high = check.reading.possible
            edges = [(low, low), *sorted(check.reading.bands.values()), (high, high)]
            if len(edges) == 2 or any(a[1] != b[0] for a, b in pairwise(edges)):
                message = f"The bands must run from {low:g} to {high:g} without gap or overlap."
                yield ("checks", check.id, "reading", "bands"), message


def proof_of_another_thing(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """The proof is made in the bay, and a cause that the repair removes shows in it."""
    for repair in knowledge.repairs.values():
        path, check = ("repairs", repair.id, "proof", "check"), knowledge.checks[repair.proof.check]
        if Audience.BAY not in check.audience:
            yield path, f"'{check.id}' cannot be done in the bay. Choose another check."
        if not any(check.id in knowledge.causes[cause].shows for cause in repair.removes):
            yield path, f"No cause that '{repair.id}' removes shows in '{check.id}', so it proves nothing."


def frequency_out_of_reach(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """No cause of comebacks is in more than a quarter of all cars: it was counted per 100, not per 1000."""
    for cause in knowledge.causes.values():
        if cause.frequency > (400 if cause.kind is CauseKind.AFTER_EFFECT else 250):
            message = f"{cause.frequency:g} of 1000 cars is too many. Count per 1000."
            yield ("causes", cause.id, "frequency"), message


def unused_entry(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """An entry that nothing names is left over, or its name is missing somewhere."""
    checks, repairs = knowledge.checks.values(), knowledge.repairs.values()
    naming = ("set_ups", "services", "checks", "repairs", "procedures", "not_covered")
    entries = [entry for section in naming for entry in getattr(knowledge, section).values()]
    steps = [step for service in knowledge.services.values() for step in service.steps.values()]
    used = {
        "cautions": {name for entry in (*entries, *steps) for name in getattr(entry, "cautions", ())},
        "set_ups": {name for e in entries for field in ("set_up", "ends") for name in getattr(e, field, ())},
        "procedures": {name for repair in repairs for name in repair.procedures},
        "panels": {check.panel for check in checks if check.panel},
    }
    for section, names in used.items():
        for name in getattr(knowledge, section):
            if name not in names:
                yield (section, name), f"Nothing uses '{name}'. Name it somewhere, or delete it."
