"""What leads to what, as graphs to draw: from the steps of a service to complaints, and around one entry.

A node is `kind:id` with `kind`, `name` and `danger` (the car must not be driven); an edge has `chance`, the share of
such cars, 0 to 1 (none from a step). `graph["left_out"]` counts what is not in it, by kind.
"""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from comeback.kb.rules.bearing import bears_on, chance_of
from comeback.kb.schema import Cause, Complaint, KnowledgeBase
from comeback.kb.vocabulary import CauseKind, Disposition

if TYPE_CHECKING:
    import networkx as nx

    Graph = nx.DiGraph[str]

SELDOM = 0.1
"""Share of a slip's cars below which its second complaint is not drawn."""
SECTIONS = {"cause": "causes", "check": "checks", "complaint": "complaints", "repair": "repairs"}
SURROUNDED = ("cause", "check", "complaint")
"""Kinds of entry that `surroundings` takes."""
Link = tuple[str, str, float]
"""From node, to node, share of such cars."""


def dangerous(cause: Cause) -> bool:
    """True if a car with this cause must not be driven."""
    return cause.drive >= Disposition.TOW


def brings(knowledge: KnowledgeBase, complaint: Complaint) -> dict[str, float]:
    """Cause -> chance that it alone brings the complaint; only causes that show all that is wrong in it."""
    checks = knowledge.checks
    wrong = [(check, (one,)) for check, one in complaint.reports.items() if one != checks[check].expected]
    found = bears_on(knowledge, complaint).items()
    return {cause: chance for cause, chance in found if all(chance_of(knowledge, cause, *pair) > 0 for pair in wrong)}


def service_map(knowledge: KnowledgeBase, service: str, most: int) -> "Graph":
    """Steps of the service -> their slips -> complaints: the `most` frequent slips and all that forbid driving.

    Complaints that the slips bring alike are one node. A slip leads to its likeliest complaint; a second one is drawn
    only if it is the likeliest of another slip.
    """
    steps = knowledge.services[service].steps
    slips = [c for c in knowledge.causes.values() if c.service == service and c.kind is CauseKind.SLIP]
    brought, alike = _complaints_after(knowledge, service)
    told = sorted((one for one in slips if one.id in brought), key=lambda one: (not dangerous(one), -one.frequency))
    kept = told[: max(most, sum(map(dangerous, told)))]
    weight = {name: sum(one.frequency * brought[one.id].get(name, 0) for one in kept) for name in alike}
    likely = {one.id: sorted(brought[one.id], key=lambda c: (-brought[one.id][c], -weight[c], c)) for one in kept}
    first = {complaints[0] for complaints in likely.values()}
    graph = _empty()
    for number, (name, step) in enumerate(steps.items(), 1):
        for one in (one for one in kept if one.step == name):
            graph.add_node(f"step:{name}", kind="step", name=f"{number}  {step.do}", danger=False)
            _add(graph, knowledge, f"cause:{one.id}")
            graph.add_edge(f"step:{name}", f"cause:{one.id}")
            second = [c for c in likely[one.id][1:] if c in first and brought[one.id][c] >= SELDOM]
            for c in (likely[one.id][0], *second[:1]):
                graph.add_node(f"complaint:{c}", kind="complaint", name=" / ".join(alike[c]), danger=False)
                _link(graph, knowledge, [(f"cause:{one.id}", f"complaint:{c}", brought[one.id][c])])
    rest = sum(len(alike[c]) for c in alike if f"complaint:{c}" not in graph)
    graph.graph["left_out"] = {"slip": len(slips) - len(kept), "complaint": rest}
    return graph


def _complaints_after(
    knowledge: KnowledgeBase, service: str
) -> tuple[dict[str, dict[str, float]], dict[str, list[str]]]:
    """Slip -> complaint -> share of its cars; complaint -> names of all that the slips bring just like it."""
    alike: dict[tuple[tuple[str, float], ...], list[str]] = {}
    for complaint in knowledge.complaints.values():
        found = {c: p for c, p in brings(knowledge, complaint).items() if knowledge.causes[c].service == service}
        if found and complaint.after((service,)):
            alike.setdefault(tuple(sorted(found.items())), []).append(complaint.id)
    brought: dict[str, dict[str, float]] = {}
    for column, same in alike.items():
        for cause, chance in column:
            brought.setdefault(cause, {})[same[0]] = chance
    return brought, {same[0]: [knowledge.complaints[c].name for c in same] for same in alike.values()}


def surroundings(knowledge: KnowledgeBase, kind: str, name: str, most: int) -> "Graph":
    """What is seen -> causes -> repairs around a cause, check or complaint: the `most` that matter in most cars."""
    graph, here = _empty(), f"{kind}:{name}"
    _add(graph, knowledge, here)
    if kind == "cause":
        shows = [(f"check:{c}", here, 1 - knowledge.chances(name, c)[0]) for c in knowledge.causes[name].shows]
        seen = ((c.id, brings(knowledge, c).get(name, 0.0)) for c in knowledge.complaints.values())
        _keep(graph, knowledge, shows, most)
        _keep(graph, knowledge, [(f"complaint:{c}", here, chance) for c, chance in seen], most)
        _keep(graph, knowledge, _repairs(knowledge, here), most)
        return graph
    if kind == "check":
        abnormal = knowledge.checks[name].names[1:]
        found = {cause: chance_of(knowledge, cause, name, abnormal) for cause in knowledge.causes}
        asked = [c.id for c in knowledge.complaints.values() if name in (*c.reports, *c.red_flags)]
        _keep(graph, knowledge, [(f"complaint:{c}", here, 1.0) for c in asked], most)
    else:
        found = brings(knowledge, knowledge.complaints[name])
    for cause in _keep(graph, knowledge, [(here, f"cause:{c}", chance) for c, chance in found.items()], most):
        _keep(graph, knowledge, _repairs(knowledge, cause), 1)
        _tell_apart(graph, knowledge, cause)
    return graph


def _tell_apart(graph: "Graph", knowledge: KnowledgeBase, node: str) -> None:
    """Name the service too if slips of several services have one name."""
    cause = knowledge.causes[node.partition(":")[2]]
    if cause.service and sum(other.name == cause.name for other in knowledge.causes.values()) > 1:
        graph.nodes[node]["name"] = f"{cause.name} ({knowledge.services[cause.service].plain})"


def _repairs(knowledge: KnowledgeBase, cause: str) -> list[Link]:
    name = cause.partition(":")[2]
    return [(cause, f"repair:{r.id}", r.removes[name]) for r in knowledge.repairs.values() if name in r.removes]


def _keep(graph: "Graph", knowledge: KnowledgeBase, links: Iterable[Link], most: int) -> list[str]:
    """Link those of the most cars, count the others; the far ends of what was linked."""

    def cars(link: Link) -> float:
        kind, _, name = link[1].partition(":")
        return link[2] * (knowledge.causes[name].frequency if kind == "cause" else 1.0)

    found = sorted((link for link in links if link[2] > 0), key=lambda link: (-cars(link), link))
    _link(graph, knowledge, found[:most])
    left = graph.graph["left_out"]
    for start, end, _ in found[most:]:
        far = (start if end in graph and start not in graph else end).partition(":")[0]
        left[far] = left.get(far, 0) + 1
    return [end for _, end, _ in found[:most]]


def _link(graph: "Graph", knowledge: KnowledgeBase, links: Sequence[Link]) -> None:
    for start, end, chance in links:
        _add(graph, knowledge, start)
        _add(graph, knowledge, end)
        graph.add_edge(start, end, chance=chance)


def _add(graph: "Graph", knowledge: KnowledgeBase, node: str) -> None:
    if node not in graph:
        kind, _, name = node.partition(":")
        entry = getattr(knowledge, SECTIONS[kind])[name]
        graph.add_node(node, kind=kind, name=entry.name, danger=kind == "cause" and dangerous(entry))


def _empty() -> "Graph":
    import networkx as nx  # slow to load, and most commands do without

    return nx.DiGraph(left_out={})
