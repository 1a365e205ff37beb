"""A graph of what leads to what as one landscape page that is read from left to right.

Boxes differ by outline, never by color: the page is copied in black and white.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import graphviz  # type: ignore[import-untyped]

from comeback.diagrams.drawing import FONT, draw, size_of
from comeback.diagrams.flowchart import wrapped
from comeback.diagrams.printing import Paper

if TYPE_CHECKING:
    from comeback.engine.analysis.relations import Graph

POINTS, LETTER = 9.5, (792.0, 612.0)
"""Type size in the drawing on letter paper; twice as large a paper shows it larger."""
ROOM = (728.0, 462.0)
"""Points for the drawing on that paper, and on A4, which is lower and wider."""
MOST, LEAST = 26, 4
OFTEN = 0.5
"""Share of cars from which a line is thick."""
ACROSS = {"step": 48, "cause": 42, "complaint": 32, "check": 38, "repair": 38}
"""Letters in a line of a box."""
OUTLINE = {
    "step": {"shape": "box", "style": "dashed"},
    "cause": {"shape": "box"},
    "complaint": {"shape": "box", "style": "rounded"},
    "check": {"shape": "box", "style": "diagonals"},
    "repair": {"shape": "box", "peripheries": "2"},
}
HOW = {
    "step": "Dashed: a step of the service, with its number in working order",
    "check": "Cut corners: a check",
    "complaint": "Rounded: a complaint",
    "cause": "Plain: what may be wrong (▲: do not drive the car)",
    "repair": "Double: a repair",
}
LINES = "Thick line to or from what may be wrong: in at least half of such cars. Thin: in fewer."
SIGN = "▲ "
"""Before a cause with which the car must not be driven; its outline is thick too."""
LIMITS = (
    "For teaching, not work instructions: the charts have the cautions. The maker's data and local codes come first."
)


def page_of(title: str, graph_of: Callable[[int], "Graph"], paper: Paper, foot: str) -> dict[str, Any]:
    """What `relations.typ` reads: the drawing of as much of the graph as fits. Raises DrawingError."""
    for most in range(MOST, LEAST - 1, -1):
        graph = graph_of(most)
        drawing = _drawn(graph)
        if all(side <= room for side, room in zip(size_of(drawing), ROOM, strict=True)):
            break
    width, height = max(paper.width, paper.height), min(paper.width, paper.height)
    scale = min(width / LETTER[0], height / LETTER[1])
    drawn = size_of(drawing)
    across = drawn[0] * min(1.0, ROOM[0] / drawn[0], ROOM[1] / drawn[1])
    shown = _kinds(graph)
    return {"width": width, "height": height, "scale": scale, "across": across, "title": title,
            "how": f"{'. '.join(HOW[kind] for kind in HOW if kind in shown)}. {LINES}",
            "drawing": drawing, "foot": f"{left_out(graph)}{LIMITS} {foot}", "alt": _spoken(graph)}  # fmt: skip


def left_out(graph: "Graph") -> str:
    """`Left out as less likely: 14 slips, 1 complaint. `; empty if it is all there."""
    counts = [(count, kind) for kind, count in graph.graph["left_out"].items() if count]
    told = ", ".join(f"{count} {kind}{'s' if count > 1 else ''}" for count, kind in counts)
    return f"Left out as less likely: {told}. " if told else ""


def _drawn(graph: "Graph") -> str:
    """The drawing as SVG. Raises DrawingError."""
    dot = graphviz.Digraph(
        graph_attr={
            "rankdir": "LR",
            "nodesep": "0.06",
            "ranksep": str(1.5 / max(1, len(_kinds(graph)) - 1)),
            "margin": "0",
        },
        node_attr={"fontname": FONT, "fontsize": str(POINTS), "margin": "0.06,0.025", "height": "0"},
        edge_attr={"arrowsize": "0.6"},
    )
    for node, about in graph.nodes(data=True):
        label = f"{SIGN if about['danger'] else ''}{about['name']}"
        outline = OUTLINE[about["kind"]] | ({"penwidth": "2"} if about["danger"] else {})
        dot.node(node.replace(":", " "), graphviz.escape(wrapped(label, ACROSS[about["kind"]])), **outline)
    for start, end, chance in graph.edges(data="chance", default=0.0):
        dot.edge(start.replace(":", " "), end.replace(":", " "), penwidth="2" if chance >= OFTEN else "0.7")
    return draw(dot.source)


def _kinds(graph: "Graph") -> set[str]:
    return {graph.nodes[node]["kind"] for node in graph}


def _spoken(graph: "Graph") -> str:
    """The graph for who cannot see it."""
    name = {node: str(graph.nodes[node]["name"]) for node in graph}
    ends = {one: ", ".join(name[end] for end in graph.successors(one)) for one in graph}
    return "; ".join(f"{name[one]} -> {far}" for one, far in ends.items() if far)
