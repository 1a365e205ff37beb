"""The compiled graph: acyclic, complete, merged only where nothing differs, the same every time."""

import math

import networkx as nx
import pytest

from comeback.engine.charts.decision_graph import (
    DANGER,
    NONE_OF_THESE,
    SEVERAL,
    Growth,
    Limits,
    TryInOrder,
    compile_decision_graph,
    graph_of,
    start,
)
from comeback.engine.walk import steps
from comeback.kb.vocabulary import Audience


@pytest.fixture(scope="module", params=["bay", "phone"])
def graph(small, request):
    return compile_decision_graph(small, "lamp-change", "dark", Audience(request.param))


def test_it_has_no_loop_and_every_box_is_reached(graph):
    whole = graph.graph()
    assert nx.is_directed_acyclic_graph(whole)
    assert set(nx.descendants(whole, 1)) | {1} == {box.number for box in graph.boxes}


def test_every_question_has_all_its_answers(graph, small):
    for box in graph.boxes:
        answers = [answer for way in box.exits for answer in way.answers]
        assert len(answers) == len(set(answers))
        match box.step:
            case steps.MakeCheck(check=check) | steps.ProveRepair(check=check):
                assert sorted(answers) == sorted(small.checks[check].names)
            case steps.DangerScreen(checks):
                abnormal = [f"{c}:{r}" for c in checks for r in small.checks[c].names[1:]]
                several = [SEVERAL] if len(checks) > 1 else []
                assert sorted(answers) == sorted([NONE_OF_THESE, *several, *abnormal])


def test_chances_of_the_exits_sum_to_one(graph):
    for box in graph.boxes:
        if box.exits:
            assert sum(way.chance for way in box.exits) == pytest.approx(1.0, abs=1e-6)


def test_no_two_boxes_are_the_same_with_the_same_continuation(graph):
    def content(box):
        step = box.step
        name = getattr(step, "check", None) or getattr(step, "repair", None) or str(step)
        return type(step).__name__, name, tuple((way.answers, way.target) for way in box.exits)

    contents = [content(box) for box in graph.boxes]
    assert len(contents) == len(set(contents))


def test_same_input_gives_the_same_graph(graph, small):
    assert compile_decision_graph(small, "lamp-change", "dark", graph.audience) == graph


def test_a_danger_sign_never_ends_in_nothing(small):
    """However little is charted, a danger sign leads to advice to stop."""
    limits = Limits(rare=0.9, boxes=2)
    graph = compile_decision_graph(small, "lamp-change", "dark", Audience.BAY, limits=limits)
    first = graph.boxes[0]
    assert isinstance(first.step, steps.DangerScreen)
    targets = {a: graph.boxes[way.target - 1].step for way in first.exits for a in way.answers if a != NONE_OF_THESE}
    assert targets
    assert all(step == DANGER or not isinstance(step, steps.HandOver) for step in targets.values())


WHOLE = Limits(worth=1e-9, rare=1e-6, boxes=400, named=0)


def test_what_is_not_charted_is_counted(small):
    whole = compile_decision_graph(small, "lamp-change", "dark", Audience.BAY, limits=WHOLE)
    part = compile_decision_graph(small, "lamp-change", "dark", Audience.BAY, limits=Limits(boxes=3, named=0))
    assert part.carried < whole.carried <= 1.0


def test_naming_repairs_at_the_ends_carries_more(small):
    bare = compile_decision_graph(small, "lamp-change", "dark", Audience.BAY, limits=Limits(boxes=2, named=0))
    named = compile_decision_graph(small, "lamp-change", "dark", Audience.BAY, limits=Limits(boxes=2))
    assert named.carried > bare.carried
    assert named.repaired <= named.carried <= 1.0


def test_a_smaller_chart_is_part_of_a_larger_one(knowledge):
    growth = Growth(start(knowledge, "intake-cleaning", "hard-brake", Audience.BAY), Limits())
    growth.grow(3)
    few = {str(box.step) for box in graph_of(growth).boxes if box.exits}
    growth.grow(6)
    assert few <= {str(box.step) for box in graph_of(growth).boxes if box.exits}


def test_an_end_names_no_repair_that_is_not_among_those_asked_for(knowledge):
    growth = Growth(start(knowledge, "intake-cleaning", "hard-brake", Audience.BAY), Limits())
    growth.grow(4)
    graph = graph_of(growth, {"refit-booster-hose"})
    named = {r for box in graph.boxes if isinstance(box.step, TryInOrder) for r in box.step.repairs}
    assert named <= {"refit-booster-hose"}


def test_the_share_carried_agrees_with_cars_that_follow_the_chart(small):
    """The small network by plain enumeration: two causes, so all sets can be listed with their chances.

    Oracle: for every set of causes, every answer the chart allows is followed with its chance.
    """
    graph = compile_decision_graph(small, "lamp-change", "dark", Audience.BAY, limits=Limits(boxes=3))
    assert followed(small, graph) == pytest.approx(graph.carried, abs=0.02)


def followed(knowledge, graph):
    """Chance that a car is brought to an end that is right for it, over all sets of causes."""
    boxes = {box.number: box for box in graph.boxes}
    names, total, right = list(knowledge.causes), 0.0, 0.0
    for k in range(1, 2 ** len(names)):
        there = [name for i, name in enumerate(names) if k >> i & 1]
        weight = shown(knowledge, there, "light")["dark"]
        for name in names:
            p = knowledge.causes[name].frequency / 1000
            weight *= p if name in there else 1 - p
        total += weight
        right += weight * along(knowledge, boxes, 1, there)
    return right / total


def along(knowledge, boxes, number, there):
    """Chance that a car with these causes comes from this box to an end that is right for it."""
    box = boxes[number]
    if isinstance(box.step, TryInOrder):
        fixed = {c for r in box.step.repairs for c, p in knowledge.repairs[r].removes.items() if p >= 0.5}
        return float(bool(fixed & set(there)))
    if not box.exits:
        return 0.0
    chances = answer_chances(knowledge, box.step, there)
    return sum(chances[a] * along(knowledge, boxes, way.target, there) for way in box.exits for a in way.answers)


def answer_chances(knowledge, step, there):
    """Chance of each answer of a step for a car with these causes."""
    if isinstance(step, steps.MakeCheck):
        return shown(knowledge, there, step.check)
    assert isinstance(step, steps.DangerScreen)
    assert len(step.checks) == 1  # the small knowledge has one danger sign
    (check,) = step.checks
    spark = shown(knowledge, there, check)
    expected = knowledge.checks[check].expected
    abnormal = {f"{check}:{r}": p for r, p in spark.items() if r != expected}
    return {NONE_OF_THESE: spark[expected], **abnormal}


def shown(knowledge, there, check):
    """Noisy-MAX by its definition: chance of each result with these causes present."""
    ways = [knowledge.leak(check), *(knowledge.chances(c, check) for c in there if check in knowledge.causes[c].shows)]
    names = knowledge.checks[check].names
    at_most = [math.prod(sum(way[: k + 1]) for way in ways) for k in range(len(names))]
    return {name: at_most[k] - (at_most[k - 1] if k else 0.0) for k, name in enumerate(names)}
