"""A poster of what a service may disturb: complaint - cause - repair, grouped by the step of the work.

Only the causes that come from the service itself stand on it. A cause is joined to the complaints that
it brings most often and to the repairs that are meant for it; the thicker the line, the oftener.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import graphviz  # type: ignore[import-untyped]

from comeback.diagrams.drawing.markup import cell, lines, plain_label, table
from comeback.diagrams.drawing.program import FONT
from comeback.diagrams.paper import phrases
from comeback.diagrams.paper.captions import wrapped
from comeback.kb.schema import Cause, Complaint, KnowledgeBase

COMPLAINTS, LEAST = 2, 0.25
"""Most complaints that a cause is joined to, and how often it must bring one."""
MEANT = 0.5
"""A repair is meant for a cause that it removes at least this often."""
TYPE, TITLE = 14.0, 30.0
WIDTHS, LINES = (210.0, 250.0, 230.0), (26, 30, 28)
"""Widths of the three columns in points, and most characters in a line of each."""


@dataclass(frozen=True)
class Link:
    """A line of the poster, from left to right, with its chance."""

    tail: str
    head: str
    chance: float


def poster_text(knowledge: KnowledgeBase, service: str, date: str) -> str:
    """DOT text of the poster of a service; raises KeyError for an unknown one."""
    whole = knowledge.services[service]
    causes = [cause for cause in knowledge.causes.values() if cause.service == service]
    causes.sort(key=lambda cause: (_place(list(whole.steps), cause), -cause.frequency, cause.id))
    links = [link for cause in causes for link in _links(knowledge, service, cause)]
    body = graphviz.Digraph(f"poster-{service}")
    body.attr(rankdir="LR", splines="true", nodesep="0.09", ranksep="1.6", pad="0.2", labelloc="t", fontname=FONT)
    body.attr(label=_head(knowledge, service, date), fontsize=f"{TYPE:g}")
    body.attr("node", shape="box", fontname=FONT, fontsize=f"{TYPE:g}", margin="0.08,0.05", fixedsize="false")
    body.attr("edge", arrowhead="none", color="#555555", tailport="e", headport="w")
    _nodes(
        body,
        "complaint",
        ((link.tail, knowledge.complaints[link.tail[2:]].name) for link in links if link.tail[0] == "c"),
    )
    for cause in causes:
        body.node(f"w-{cause.id}", _cause_label(knowledge, service, cause), shape="plain")
    _nodes(
        body, "repair", ((link.head, knowledge.repairs[link.head[2:]].name) for link in links if link.head[0] == "r")
    )
    for link in links:
        body.edge(link.tail, link.head, penwidth=f"{0.8 + 3 * link.chance:.1f}")
    return str(body.source)


def _place(steps: list[str], cause: Cause) -> int:
    return steps.index(cause.step) if cause.step in steps else len(steps)


def _links(knowledge: KnowledgeBase, service: str, cause: Cause) -> Iterator[Link]:
    fitting = [c for c in knowledge.complaints.values() if not c.services or service in c.services]
    brought = sorted(((_brings(knowledge, cause, c), c.id) for c in fitting), key=lambda pair: (-pair[0], pair[1]))
    for k, (chance, complaint) in enumerate(brought[:COMPLAINTS]):
        if k == 0 or chance >= LEAST:
            yield Link(f"c-{complaint}", f"w-{cause.id}", chance)
    for repair in knowledge.repairs.values():
        if repair.removes.get(cause.id, 0.0) >= MEANT:
            yield Link(f"w-{cause.id}", f"r-{repair.id}", repair.removes[cause.id])


def _brings(knowledge: KnowledgeBase, cause: Cause, complaint: Complaint) -> float:
    """Chance that the cause alone shows all that the complaint reports."""
    chance = 1.0
    for check, result in complaint.reports.items():
        if check not in cause.shows:
            return 0.0
        chance *= knowledge.chances(cause.id, check)[knowledge.checks[check].names.index(result)]
    return chance


def _nodes(body: "graphviz.Digraph", kind: str, named: Iterable[tuple[str, str]]) -> None:
    column = 0 if kind == "complaint" else 2
    style = {"style": "rounded"} if kind == "complaint" else {}
    with body.subgraph() as rank:
        rank.attr(rank="same")
        for node, name in dict(named).items():
            rank.node(node, plain_label(wrapped(name, LINES[column])), width=f"{WIDTHS[column] / 72:.2f}", **style)


def _cause_label(knowledge: KnowledgeBase, service: str, cause: Cause) -> str:
    steps = knowledge.services[service].steps
    step = steps[cause.step].do if cause.step and cause.step in steps else phrases.ALL_STEPS
    of_1000 = phrases.OF_1000.format(number=f"{cause.frequency:g}")
    body = [
        [cell(lines(wrapped(cause.name, LINES[1]), TYPE, bold=True), WIDTHS[1])],
        [cell(lines(wrapped(f"{of_1000}. {step}", LINES[1] + 6), 11), WIDTHS[1])],
    ]
    return f"<{table(body, 3, border='2')}>"


def _head(knowledge: KnowledgeBase, service: str, date: str) -> str:
    title = lines([phrases.POSTER.format(service=knowledge.services[service].name)], TITLE, bold=True)
    about = lines([phrases.POSTER_HOW, f"Knowledge {knowledge.version}, printed {date}. {phrases.UNCONTROLLED}"], TYPE)
    limits = lines([phrases.LIMITS], TYPE)
    return f"<{table([[cell(title, 900)], [cell(about, 900)], [cell(limits, 900)]], 4)}>"
