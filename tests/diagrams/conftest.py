"""Graphs to lay out: a small one compiled from invented knowledge, large random ones, one that is shipped."""

import random
import re

import pytest

from comeback.diagrams.chart import make_chart
from comeback.diagrams.drawing.program import draw
from comeback.diagrams.fitting import fitted_graph
from comeback.diagrams.paper.measure import PAPERS
from comeback.engine.case.events import Kind
from comeback.engine.charts.decision_graph import (
    CUT,
    NONE_OF_THESE,
    SEVERAL,
    UNKNOWN,
    Box,
    DecisionGraph,
    Exit,
    Growth,
    Limits,
    TryInOrder,
    compile_decision_graph,
    is_end_of_paper,
    start,
)
from comeback.engine.walk import steps
from comeback.engine.walk.steps import CloseCase, MakeCheck
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience

DATE = "2026-01-31"
LETTER = PAPERS["letter"]


@pytest.fixture(scope="session")
def shipped():
    return load_knowledge()


@pytest.fixture(scope="session")
def compiled(small):
    """The small knowledge compiled to the last branch, for both audiences; no end names repairs."""
    limits = Limits(worth=1e-9, rare=1e-4, deep=12, boxes=400, named=0)
    return {
        who: compile_decision_graph(small, "lamp-change", "dark", Audience(who), (), limits) for who in ("bay", "phone")
    }


@pytest.fixture(scope="session")
def shipped_graphs(shipped):
    """One complaint of the shipped knowledge for both audiences, as it is printed."""
    return {
        who: fitted_graph(Growth(start(shipped, "intake-cleaning", "hard-brake", Audience(who)), Limits()), LETTER)
        for who in ("bay", "phone")
    }


@pytest.fixture(scope="session")
def charts(small, shipped, compiled, shipped_graphs):
    """Charts by name, from easy to hard."""
    made = {}
    for who in ("bay", "phone"):
        made[f"small {who}"] = make(compiled[who], small)
        made[f"shipped {who}"] = make(shipped_graphs[who], shipped)
    for seed in range(3):
        made[f"random {seed}"] = make(grow_graph(seed), small)
    return made


def make(graph, knowledge, paper="letter"):
    return make_chart(graph, knowledge, (), DATE, PAPERS[paper])


def grow_graph(seed, depth=7):
    """A random tree of checks with some merged branches, numbered in reading order."""
    rng, boxes = random.Random(seed), {}

    def grow(level):
        number = len(boxes) + 1
        boxes[number] = None
        if level == 0 or (number > 3 and rng.random() < 0.2):
            ends = [CUT, CloseCase("dark", ("fuse-out",), ("replace-fuse",), True), TryInOrder(("replace-fuse",))]
            step = rng.choice(ends)
            boxes[number] = Box(number, step, 0.1, ())
            return number
        check = rng.choice(["volts", "lamp-turns", "spark"])
        names = {"volts": ("present", "low", "none"), "lamp-turns": ("tight", "turns"), "spark": ("no", "yes")}[check]
        targets = {}
        for i, name in enumerate(names):
            known = [n for n in boxes if n > number]
            target = rng.choice(known) if known and rng.random() < 0.15 else grow(max(level - 1 - i, 0))
            targets.setdefault(target, []).append(name)
        exits = tuple(Exit(tuple(answers), 0.5, target) for target, answers in targets.items())
        boxes[number] = Box(number, MakeCheck(check, 1.0, 2.0, (0.5,) * len(names)), 0.1, exits)
        return number

    grow(depth)
    return DecisionGraph("dark", "lamp-change", Audience.BAY, "0123456789ab", tuple(boxes.values()), 0.9)


@pytest.fixture(scope="session")
def chart_of():
    """chart_of(graph, knowledge, paper) -> the chart."""
    return make


@pytest.fixture(scope="session")
def random_graph():
    """random_graph(seed) -> a graph of the small knowledge."""
    return grow_graph


@pytest.fixture(scope="session")
def replayed():
    """replayed(graph, walk, paths) -> exits followed, after checking that the walk agrees at each."""
    return replay


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
            return walk.imagine(walk.draft(Kind.CONDITION, "", "", feature=feature, value=value))
        case steps.DoRepair(repair=repair):
            return walk.imagine(walk.draft(Kind.REPAIRED, "", "", repair=repair))


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


@pytest.fixture(scope="session")
def plain():
    return read_plain


def read_plain(text):
    """Boxes as (left, low, right, high) in inches by name, and visible edges as (tail, head, points)."""
    boxes, edges = {}, []
    for line in draw(text, "plain").decode().splitlines():
        words = re.findall(r'"[^"]*"|<.*?>+|\S+', line)
        if words[0] == "node":
            x, y, w, h = map(float, words[2:6])
            boxes[words[1]] = (x - w / 2, y - h / 2, x + w / 2, y + h / 2)
        elif words[0] == "edge" and " invis " not in line:
            values = list(map(float, words[4 : 4 + 2 * int(words[3])]))
            points = list(zip(values[::2], values[1::2], strict=True))
            edges.append((words[1].split(":")[0], words[2].split(":")[0], points))
    return boxes, edges
