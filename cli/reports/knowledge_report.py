"""What the knowledge amounts to: counts, what its checks can tell apart, how plain its calls are."""

import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from comeback.engine.analysis.testability import MARGIN, testability
from comeback.engine.belief.network import build_network
from comeback.kb.rules.bearing import flags_left_out
from comeback.kb.rules.readability import HARDEST_GRADE, measure, read_aloud
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.vocabulary import Audience, Tier

Depth = tuple[str, str, Callable[[Check], bool]]
DEPTHS: tuple[Depth, ...] = (
    ("phone", "questions on the phone", lambda check: Audience.PHONE in check.audience),
    ("look", "looks in the bay", lambda check: Audience.BAY in check.audience and check.tier <= Tier.LOOK),
    ("bay", "all checks in the bay", lambda check: Audience.BAY in check.audience),
)
LONGEST = 60.0
"""Seconds after which no further testability is computed."""
WIDE_MARGIN = 0.5


def report_data(knowledge: KnowledgeBase, services: Sequence[str]) -> dict[str, Any]:
    """Everything reported, as plain data; shares 0 to 1."""
    return {
        "knowledge": knowledge.version,
        "services": [{"service": name, **_counts(knowledge, name)} for name in services],
        "statuses": _statuses(knowledge),
        "testability": list(_testabilities(knowledge, services)),
        "ambiguous": _ambiguous(knowledge, services),
        "reading": _reading(knowledge),
        "danger_signs_left_out": [
            {"complaint": c.id, "check": check, "share": share}
            for c in knowledge.complaints.values()
            for check, share in flags_left_out(knowledge, c)
            if share >= 0.02
        ],
    }


def _counts(knowledge: KnowledgeBase, service: str) -> dict[str, int]:
    """What may be met after the service: its own causes and all wear, and what bears on them."""
    network = build_network(knowledge, (service,))
    causes = [knowledge.causes[name] for name in network.causes]
    checks = [knowledge.checks[name] for name in {check for cause in causes for check in cause.shows}]
    repairs = [repair for repair in knowledge.repairs.values() if set(network.causes) & set(repair.removes)]
    steps = knowledge.services[service].steps.values()
    entries = (*causes, *checks, *repairs, knowledge.services[service])
    cautions = {c for carrying in (checks, repairs, steps) for entry in carrying for c in entry.cautions}
    return {
        "steps": len(steps), "own": sum(1 for cause in causes if cause.service == service), "causes": len(causes),
        "checks": len(checks), "repairs": len(repairs), "cautions": len(cautions),
        "sources": len({source for entry in entries for source in entry.source}),
    }  # fmt: skip


def _statuses(knowledge: KnowledgeBase) -> dict[str, int]:
    """How many entries name a source of each status; an entry with several counts for each."""
    sections = ("services", "complaints", "causes", "checks", "repairs", "cautions", "procedures", "codes")
    entries = [entry for section in sections for entry in getattr(knowledge, section).values()]
    counts = Counter(status for e in entries for status in {knowledge.sources[s].status for s in e.source})
    return {"entries": len(entries), **dict(counts.most_common())}


def _testabilities(knowledge: KnowledgeBase, services: Sequence[str]) -> Iterator[dict[str, Any]]:
    began = time.monotonic()
    for service in services:
        network = build_network(knowledge, (service,))
        for depth, _, wanted in DEPTHS:
            if time.monotonic() - began > LONGEST:
                return
            names = [name for name in network.observables if wanted(knowledge.checks[name])]
            found = testability(network, names)
            yield {"service": service, "with": depth, "detected": found.detected, "alone": found.isolated[1],
                   "of_3": found.isolated[3], "mean": found.expected_size, "idle": list(found.idle)}  # fmt: skip


def _ambiguous(knowledge: KnowledgeBase, services: Sequence[str]) -> list[list[str]]:
    """Groups that no check in the bay tells apart by the wide margin, each once."""
    groups: dict[tuple[str, ...], None] = {}
    for service in services:
        network = build_network(knowledge, (service,))
        names = [name for name in network.observables if DEPTHS[-1][2](knowledge.checks[name])]
        found = testability(network, names, WIDE_MARGIN)
        groups.update((group, None) for group in found.groups if len(group) > 1)
    return [list(group) for group in groups]


def _reading(knowledge: KnowledgeBase) -> list[dict[str, Any]]:
    rows = []
    for complaint in knowledge.complaints.values():
        texts = read_aloud(knowledge, complaint)
        whole, asked = measure(texts), measure([text for text in texts if text.endswith("?")])
        rows.append({"complaint": complaint.id, "grade": whole.grade, "average": whole.average,
                     "questions_grade": asked.grade})  # fmt: skip
    return sorted(rows, key=lambda row: (-float(row["grade"]), str(row["complaint"])))


def report_lines(data: dict[str, Any], knowledge: KnowledgeBase) -> Iterator[str]:
    """The report as paragraphs and tables of at most 80 columns; paragraphs still have to be wrapped."""
    yield f"Knowledge {data['knowledge']}: {len(knowledge.causes)} causes, {len(knowledge.checks)} checks, " + (
        f"{len(knowledge.repairs)} repairs, {len(knowledge.cautions)} cautions, {len(knowledge.sources)} sources."
    )
    statuses = dict(data["statuses"])
    whole = statuses.pop("entries")
    yield f"Of {whole} entries these name a source that is: " + ", ".join(f"{k} {n}" for k, n in statuses.items()) + "."
    yield from _service_table(data)
    yield from _testability_table(data)
    yield from _warnings(data)
    yield from _reading_table(data)


def _service_table(data: dict[str, Any]) -> Iterator[str]:
    keys = ("steps", "own", "causes", "checks", "repairs", "cautions", "sources")
    yield ""
    yield "service".ljust(18) + "".join(key.rjust(9 if len(key) > 6 else 8) for key in keys)
    for row in data["services"]:
        yield row["service"].ljust(18) + "".join(str(row[key]).rjust(9 if len(key) > 6 else 8) for key in keys)
    yield "own: slips and after-effects of the service; causes: these and all wear; the rest: what bears on them."


def _testability_table(data: dict[str, Any]) -> Iterator[str]:
    yield ""
    yield "Told apart".ljust(17) + "".join(f"with {name}".ljust(21) for name, _, _ in DEPTHS).rstrip()
    yield "service".ljust(17) + "  ".join(["seen alone <=3 mean"] * len(DEPTHS))
    for service in dict.fromkeys(row["service"] for row in data["testability"]):
        rows = [row for row in data["testability"] if row["service"] == service]
        cells = [
            f"{_share(r['detected'])}{_share(r['alone']):>6}{_share(r['of_3'])}{r['mean']:5.1f}".ljust(21) for r in rows
        ]
        yield (f"{service[:16]:17}" + "".join(cells)).rstrip()
    missing = len({r["service"] for r in data["services"]}) - len({r["service"] for r in data["testability"]})
    if missing:
        yield f"{missing} services left out: more than {LONGEST:.0f} s."
    yield (
        f"seen: % of all causes, by frequency, that some check tells from 'nothing wrong' in {100 * MARGIN:.0f} of 100"
        " cars or more. alone, <=3: % of the seen causes, by frequency, in groups of 1, of at most 3, that no check"
        " tells apart that well. mean: mean size of the group, over the same causes. One cause present, any car."
    )


def _share(value: float) -> str:
    return f"{100 * value:4.0f}"


def _warnings(data: dict[str, Any]) -> Iterator[str]:
    yield ""
    if data["ambiguous"]:
        yield f"No check in the bay tells these apart in {100 * WIDE_MARGIN:.0f} of 100 cars:"
        yield from ("  " + ", ".join(group) for group in data["ambiguous"])
    bay = [set(row["idle"]) for row in data["testability"] if row["with"] == "bay"]
    idle = sorted(set.intersection(*bay)) if bay else []
    if idle:
        yield f"{len(idle)} checks for which another always tells any two causes apart better (time not counted):"
        yield "  " + ", ".join(idle)
    if data["danger_signs_left_out"]:
        yield "Danger signs that are not on a complaint's list, with % of such cars that show them:"
        yield "  " + "; ".join(
            f"{r['complaint']}: {r['check']} {100 * r['share']:.0f}" for r in data["danger_signs_left_out"]
        )


def _reading_table(data: dict[str, Any]) -> Iterator[str]:
    yield ""
    yield f"Reading grade of what a call reads aloud (Flesch-Kincaid, limit {HARDEST_GRADE:g}), the hardest first:"
    yield "complaint".ljust(28) + "   all  questions  words a sentence"
    for row in data["reading"]:
        yield f"{row['complaint']:28}{row['grade']:6.1f}{row['questions_grade']:11.1f}{row['average']:18.1f}"
