"""Graphs to lay out: a small one compiled from invented knowledge, large random ones, one that is shipped."""

import random
from pathlib import Path

import pytest

from comeback.diagrams.chart import make_chart
from comeback.diagrams.fitting import fitted_graph
from comeback.diagrams.measure import PAPERS
from comeback.engine.decision_graph import (
    CUT,
    Box,
    DecisionGraph,
    Exit,
    Growth,
    Limits,
    TryInOrder,
    compile_decision_graph,
    start,
)
from comeback.engine.steps import CloseCase, MakeCheck
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience

SMALL = Path(__file__).parent.parent / "kb" / "small"
DATE = "2026-01-31"
LETTER = PAPERS["letter"]


@pytest.fixture(scope="session")
def small():
    return load_knowledge(SMALL)


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
