"""The compiled graph: acyclic, complete, merged only where nothing differs, the same every time."""

import networkx as nx
import pytest

from comeback.engine import steps
from comeback.engine.decision_graph import DANGER, NONE_OF_THESE, Limits, compile_decision_graph
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
                assert sorted(answers) == sorted([NONE_OF_THESE, *abnormal])


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
    graph = compile_decision_graph(small, "lamp-change", "dark", Audience.BAY, limits=Limits(rare=0.9, boxes=2))
    first = graph.boxes[0]
    assert isinstance(first.step, steps.DangerScreen)
    targets = {a: graph.boxes[way.target - 1].step for way in first.exits for a in way.answers if a != NONE_OF_THESE}
    assert targets
    assert all(step == DANGER or not isinstance(step, steps.HandOver) for step in targets.values())


def test_what_is_not_charted_is_counted(small):
    whole = compile_decision_graph(small, "lamp-change", "dark", Audience.BAY)
    part = compile_decision_graph(small, "lamp-change", "dark", Audience.BAY, limits=Limits(rare=0.3))
    assert part.carried < whole.carried <= 1.0
