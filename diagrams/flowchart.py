"""The way down a ladder as a drawing for the wall: decisions with yes and no, each yes ending in its action.

One page that is read from two steps away. It shows as much of the way as fits; the sheet has the rest.
"""

from dataclasses import asdict
from itertools import accumulate
from textwrap import wrap
from typing import Any

import graphviz  # type: ignore[import-untyped]

from comeback.diagrams.drawing import FONT, draw, size_of
from comeback.diagrams.notices import Notice, gravest_first
from comeback.diagrams.printing import Paper
from comeback.diagrams.sheet import Sheet

POINTS, WALL = 24, 1224.0
"""Type size at wall size, and the height of that paper; smaller paper shows the same drawing smaller."""
ROOM = (720.0, 970.0)
"""Points for the drawing on wall paper, below the title and danger strip, above the foot."""
MOST, LEAST = 12, 3
ACROSS, ACROSS_ACTION = 31, 18
"""Letters in a line of a decision and of an action."""
REST = "Still there, or something else: go on with the sheet"
TO_TABLE = "Code table of the sheet"


def flowchart_data(sheet: Sheet, paper: Paper, foot: str) -> dict[str, Any]:
    """What `flowchart.typ` reads: the drawing with as many decisions as fit. Raises DrawingError."""
    decisions = _decisions(sheet)
    for most in range(max(LEAST, min(MOST, len(decisions))), LEAST - 1, -1):
        drawing = _drawn(decisions[:most])
        if all(side <= room for side, room in zip(size_of(drawing), ROOM, strict=True)):
            break
    return {
        **asdict(paper),
        "scale": paper.height / WALL,
        "title": sheet.title,
        "after": sheet.after,
        "stop": f"{sheet.now} {sheet.stop}".strip(),
        "signs": sheet.signs,
        "cautions": [asdict(one) for one in _cautions(sheet, most)],
        "drawing": drawing,
        "foot": f"{sheet.limits} {foot}",
        "alt": "; ".join(f"{asked} Yes: {done}" for asked, done in decisions),
    }


def _cautions(sheet: Sheet, most: int) -> list[Notice]:
    """The cautions of the first `most` decisions, the gravest first: nothing else of their steps is on the page."""
    ends = accumulate(len(step.lines) for step in sheet.steps)
    shown = [step for step, end in zip(sheet.steps, ends, strict=True) if end - len(step.lines) < most]
    return list(gravest_first((*sheet.common, *(n for step in shown if not step.codes for n in step.all_cautions))))


def _decisions(sheet: Sheet) -> list[tuple[str, str]]:
    """(question, action) down the way; a look whose results call for different things is asked once for each.

    The number of a step stands at its first question.
    """
    out, look = [], ""
    for step in (one for one in sheet.steps if not one.codes):
        for k, line in enumerate(step.lines):
            look = line.look or look
            if line.plain:
                asked, done = f"{line.do[0]}. Fixed?", "Close"
            elif step.decision:
                asked, done = "A code of this chart stored?", TO_TABLE
            else:
                asked, done = f"{look}: {line.find}?", ". ".join(line.do)
            out.append((asked if k else f"{step.number}  {asked}", done))
    return out


def _drawn(decisions: list[tuple[str, str]]) -> str:
    """The drawing as SVG. Raises DrawingError."""
    graph = graphviz.Digraph(
        graph_attr={"rankdir": "TB", "nodesep": "0.5", "ranksep": "0.3", "splines": "line"},
        node_attr={"fontname": FONT, "fontsize": str(POINTS), "penwidth": "2", "margin": "0.12,0.08"},
        edge_attr={"fontname": FONT, "fontsize": str(POINTS), "penwidth": "2"},
    )
    for k, (asked, done) in enumerate(decisions):
        graph.node(f"q{k}", wrapped(asked, ACROSS), shape="box", style="diagonals")
        graph.node(f"a{k}", wrapped(done, ACROSS_ACTION), shape="box", style="rounded,bold")
        with graph.subgraph() as row:
            row.attr(rank="same")
            row.node(f"q{k}")
            row.node(f"a{k}")
        graph.edge(f"q{k}", f"a{k}", label=" yes ")
        below = f"q{k + 1}" if k + 1 < len(decisions) else "rest"
        graph.edge(f"q{k}", below, label="  no", weight="10")
    graph.node("rest", wrapped(REST, ACROSS), shape="box", style="dashed")
    return draw(graph.source)


def wrapped(text: str, across: int) -> str:
    """Lines of at most so many letters; a longer word stays whole."""
    return "\n".join(wrap(text, across, break_long_words=False, break_on_hyphens=False))
