"""Paper and screen agree: an answer on the chart leads to the step that the live walk comes to."""

import pytest

from comeback.engine import case as events
from comeback.engine import steps
from comeback.engine.decision_graph import NONE_OF_THESE, SEVERAL, UNKNOWN, is_end_of_paper
from comeback.engine.walk import open_walk
from comeback.kb.vocabulary import Audience


def begin(knowledge, service, complaint, who):
    walk = open_walk(knowledge, Audience(who))
    walk = walk.imagine(walk.draft(events.SERVICE, "", "", service=service))
    return walk.imagine(walk.draft(events.COMPLAINT, "", "", complaint=complaint, words=""))


def answered(walk, answer):
    """The walk after this answer of the chart, given as a user at the prompt would give it."""
    checks = walk.knowledge.checks
    match walk.step:
        case steps.DangerScreen(checks=names) | steps.ReadPanel(checks=names):
            results = {name: checks[name].expected for name in names}
            if answer != NONE_OF_THESE:
                name, _, result = answer.partition(":")
                results[name] = result
            return walk.imagine(walk.answers(results, "", ""))
        case steps.MakeCheck(check=check, again=again):
            return walk.imagine(walk.answers({check: answer}, "", "", again=again is not None))
        case steps.ProveRepair(check=check):
            return walk.imagine(walk.answers({check: answer}, "", ""))
        case steps.ChooseCondition(feature=feature):
            value = None if answer == UNKNOWN else answer
            return walk.imagine(walk.draft(events.CONDITION, "", "", feature=feature, value=value))
        case steps.DoRepair(repair=repair):
            return walk.imagine(walk.draft(events.REPAIRED, "", "", repair=repair))


def shown(step):
    """What a reader sees of a step; numbers that were predicted are left out."""
    asked = ("checks", "check", "panel", "set_up", "feature", "values", "again")
    kept = (*asked, "repair", "result", "disposition", "reason", "proven")
    return (type(step).__name__, *(getattr(step, name, None) for name in kept))


def replay(graph, walk, paths):
    """Follow the chart with the walk: every path, or every exit once. Returns the exits followed."""
    boxes, followed, seen = {box.number: box for box in graph.boxes}, 0, set()
    todo = [(1, walk)]
    while todo:
        number, here = todo.pop()
        box = boxes[number]
        if is_end_of_paper(box.step):
            continue
        if isinstance(box.step, steps.Advise):  # with the answers so far; the program may ask on
            assert here.advice().disposition == box.step.disposition
            continue
        assert shown(here.step) == shown(box.step), f"step {number}"
        if number in seen and not paths:
            continue
        seen.add(number)
        for way in box.exits:
            for answer in way.answers:
                followed += 1
                if answer == SEVERAL:  # stands for many answers; always an end
                    assert not boxes[way.target].exits
                    continue
                todo.append((way.target, answered(here, answer)))
    return followed


@pytest.mark.parametrize("who", ["bay", "phone"])
def test_every_path_of_the_small_chart(compiled, small, who):
    walk = begin(small, "lamp-change", "dark", who)
    assert replay(compiled[who], walk, paths=True) >= len(compiled[who].boxes) - 1


@pytest.mark.parametrize("who", ["bay", "phone"])
def test_every_path_of_a_shipped_chart(shipped_graphs, shipped, who):
    walk = begin(shipped, "intake-cleaning", "hard-brake", who)
    assert replay(shipped_graphs[who], walk, paths=True) > 5
