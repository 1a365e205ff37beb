"""All charts of a service as one booklet: cover, contents, charts, repairs in full, codes, cautions, sources.

A chart begins on an odd page, so that each can be taken out of a copy printed on both sides.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from comeback.diagrams.cards.cards import card_names
from comeback.diagrams.chart import Chart
from comeback.diagrams.paper import phrases
from comeback.diagrams.paper.hazards import gravest_first, of_repair
from comeback.diagrams.paper.lettering import in_signs
from comeback.diagrams.paper.measure import Paper
from comeback.kb.schema import KnowledgeBase, Repair

KEYWORDS = ["troubleshooting", "flowchart", "comeback"]


def chart_data(charts: Sequence[Chart], paper: Paper, title: str) -> dict[str, Any]:
    """What `booklet.typ` needs for a PDF of charts only. Raises DrawingError."""
    return {
        "title": title,
        "keywords": KEYWORDS,
        "booklet": False,
        "width": paper.width,
        "height": paper.height,
        "charts": [_chart(chart) for chart in charts],
    }


def booklet_data(
    charts: Sequence[Chart], knowledge: KnowledgeBase, service: str, paper: Paper, date: str
) -> dict[str, Any]:
    """What `booklet.typ` needs for the booklet of a service. Raises DrawingError."""
    name = knowledge.services[service].name
    here = {card.repair.id for chart in charts for page in chart.cards for card in page.cards}
    named = {repair: number for repair, number in card_names(knowledge, service).items() if repair in here}
    return chart_data(charts, paper, phrases.BOOKLET.format(service=name)) | {
        "booklet": True,
        "lines": [f"Knowledge {knowledge.version}, printed {date}.", phrases.UNCONTROLLED, *phrases.BOOKLET_ABOUT],
        "limits": [phrases.LIMITS, phrases.STOP_BAY, *_meanings()],
        "repairs": [_repair(knowledge, knowledge.repairs[repair], number) for repair, number in named.items()],
        "codes": [[code.id, code.meaning, code.note] for _, code in sorted(knowledge.codes.items())],
        "cautions": _cautions(knowledge),
        "sources": [[source.title, source.status, source.note] for source in knowledge.sources.values()],
    }


def _meanings() -> list[str]:
    """What the shares on the charts mean, for each reader."""
    return [f"{phrases.SHORT_AUDIENCES[who].capitalize()}. {text}" for who, text in phrases.CARRIED_MEANS.items()]


def _chart(chart: Chart) -> dict[str, Any]:
    return {
        "title": f"{chart.heading.title} ({phrases.SHORT_AUDIENCES[chart.heading.audience]})",
        "carried": round(100 * chart.heading.carried),
        "pages": [{"svg": chart.sheet(page), "alt": chart.described(page)} for page in chart.sheets],
    }


def _repair(knowledge: KnowledgeBase, repair: Repair, number: str) -> Mapping[str, Any]:
    proof = knowledge.checks[repair.proof.check]
    return {
        "name": f"{number}  {repair.name}",
        "cautions": [
            {"word": c.word.value, "text": f"{c.avoid} {c.hazard} {c.consequence}"}
            for c in (knowledge.cautions[name] for name in gravest_first(knowledge, of_repair(knowledge, repair.id)))
        ],
        "steps": [in_signs(text) for text in (*repair.steps, *repair.put_back)],
        "never": repair.never,
        "proof": in_signs(f"{proof.name}: {proof.results[repair.proof.result]}."),
    }


def _cautions(knowledge: KnowledgeBase) -> list[list[str]]:
    ordered: Iterable[str] = gravest_first(knowledge, knowledge.cautions)
    entries = (knowledge.cautions[name] for name in ordered)
    return [[c.word.value, c.avoid, c.hazard, c.consequence] for c in entries]
