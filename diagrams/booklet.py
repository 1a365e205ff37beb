"""The booklet of a service: the sheets of what it can cause, the likeliest first, and around them how to read them."""

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from comeback.diagrams.handover import page_of
from comeback.diagrams.notices import GRAVEST_FIRST, notice
from comeback.diagrams.printing import Paper, data_of
from comeback.diagrams.sheet import LIMITS, Sheet
from comeback.diagrams.words import runs
from comeback.engine.belief.network import build_network
from comeback.engine.charts.ladder import Ladder
from comeback.engine.handover.card import HandoverCard
from comeback.kb.schema import KnowledgeBase

MOST_PAGES, AROUND = 40, 6
"""Pages of a booklet, and those that are no charts."""
HOW_TO_READ = (
    "One chart for each complaint. Begin at step 1. All OK: go on with the step below, marked ↓.",
    "Found something: read to the right. Do it, then show that it is fixed. Not fixed: go on with the next row.",
    "A black box on top names what stops the work at once. Then nobody goes on with the chart.",
    "Cautions are in their row, those of a whole step below its title, those that always hold on top of the page. "
    "DANGER will, WARNING could cause death or serious injury; CAUTION could cause minor injury; NOTICE: damage.",
    "Stored codes: the code table at the end of the chart names the step for each. Several codes: the topmost first.",
    "The line at the end says how many of a hundred such cars end right, worked out from this knowledge.",
    "At the end of the chart: hand over with the sheet, so that nobody looks twice.",
)


def likeliest(knowledge: KnowledgeBase, service: str, complaints: Iterable[str]) -> list[str]:
    """The complaints that a slip or after-effect of the service can cause, the likeliest first."""
    network = build_network(knowledge, (service,))
    caused = [knowledge.causes[name].kind.needs_service for name in network.causes]  # wear comes with any service
    rate = {}
    for name in complaints:
        reports = knowledge.complaints[name].reports
        share = np.where(caused, network.prior, 0.0)
        for check, result in reports.items():
            number = knowledge.checks[check].names.index(result)
            links = network.observables[check].links if check in network.observables else {}
            share = share * np.array([links[k][number] if k in links else 0.0 for k in range(len(network.causes))])
        rate[name] = float(share.sum()) if reports else 0.0
    return sorted((name for name in rate if rate[name] > 0), key=lambda name: -rate[name])


def fitting(pages: Sequence[int]) -> int:
    """How many charts with so many pages each, in order, fit the booklet."""
    return int(np.searchsorted(np.cumsum(pages), MOST_PAGES - AROUND, side="right"))


def booklet_data(
    sheets: Sequence[Sheet],
    ladders: Sequence[Ladder],
    knowledge: KnowledgeBase,
    card: HandoverCard,
    paper: Paper,
    date: str,
) -> dict[str, Any]:
    """What the template reads: the hand-over card, the charts, and the parts around them."""
    service = card.service
    name = knowledge.services[service].name
    used = {one for sheet in sheets for one in (*sheet.common, *(n for step in sheet.steps for n in step.all_cautions))}
    cautions = sorted(used, key=lambda one: (GRAVEST_FIRST.index(one.word), one.id))
    rows = [row for ladder in ladders for station in ladder.stations for row in station.rows]
    told = {source for one in cautions for source in knowledge.cautions[one.id].source}
    told |= {source for row in rows for name in row.repairs for source in knowledge.repairs[name].source}
    told |= {source for row in rows if row.check for source in knowledge.checks[row.check].source}
    around = {
        "service": name,
        "lines": [f"Printed {date}. Knowledge {knowledge.version[:12]}.", LIMITS],
        "how": list(HOW_TO_READ),
        "codes": _code_index(sheets, ladders, knowledge),
        "cautions": [[one.word, notice(knowledge.cautions[one.id]).full] for one in cautions],
        "sources": [[one.title, one.status] for one in (knowledge.sources[name] for name in sorted(told))],
    }
    data = data_of(sheets, paper, f"Charts: {name}", f"Printed {date}. Knowledge {knowledge.version[:12]}.")
    return {**data, "booklet": around, "card": page_of(card, knowledge)}


def _code_index(sheets: Sequence[Sheet], ladders: Sequence[Ladder], knowledge: KnowledgeBase) -> list[list[str]]:
    """Family by family: its codes, what they mean, on which charts at which step they stand."""
    where: dict[tuple[str, str], list[str]] = {}
    for sheet, ladder in zip(sheets, ladders, strict=True):
        for station in ladder.codes:
            for pair in station.entry:
                where.setdefault(pair, []).append(f"{sheet.title} {station.number}")
    rows = []
    for (check, result), places in where.items():
        entry = knowledge.checks[check]
        meaning = entry.name if len(entry.results) == 2 else f"{entry.name}: {entry.results[result]}"
        rows.append([", ".join(runs(entry.codes.get(result, ()))), meaning, "; ".join(places)])
    return sorted(rows)
