"""What people are told at the ends of charts: words for every caller, no engine after a sign to people.

Read from the charts' data, without drawing. Common practice, no source.
"""

import os

import pytest

from comeback.diagrams.chart import make_chart
from comeback.diagrams.paper import phrases
from comeback.diagrams.paper.captions import Captions
from comeback.diagrams.paper.measure import PAPERS
from comeback.engine.charts.decision_graph import CUT, SEVERAL, Limits, TryInOrder, compile_decision_graph
from comeback.engine.charts.looks import Looks
from comeback.engine.walk.steps import Advise, DangerScreen, DoRepair, MakeCheck, ReadPanel
from comeback.kb.vocabulary import Audience, Tier

ALL = bool(os.environ.get("COMEBACK_EVERY_CHART"))
SERVICE = "intake-cleaning"
DANGEROUS = [
    "rough-idle",
    "no-start-cranks",
    "fuel-smell",
    "hood-smoke",
    "fluid-leak",
    "keeps-racing",
    "fumes-in-cabin",
]
"""Complaints of which a danger screen or the complaint itself is raw fuel, smoke or fumes."""


def of_service(knowledge, service):
    return [c.id for c in knowledge.complaints.values() if not c.services or service in c.services]


def graphs(knowledge, audience, names, boxes):
    services = knowledge.services if ALL else [SERVICE]
    for service in services:
        for name in of_service(knowledge, service) if ALL else names:
            yield compile_decision_graph(knowledge, service, name, audience, limits=Limits(boxes=boxes))


def test_every_end_of_every_phone_chart_of_a_service_has_words_to_read_aloud(knowledge):
    captions = Captions(knowledge, Audience.PHONE)
    uncharted = 0
    for graph in graphs(knowledge, Audience.PHONE, of_service(knowledge, SERVICE), 8):
        for box in graph.boxes:
            if box.exits:
                continue
            assert captions.aloud(box.number, box.step), (graph.complaint, box)
            if not isinstance(box.step, Advise):
                uncharted += 1
                assert "not drive" in captions.words(box.step)
                assert "call you back" in captions.words(box.step)
    assert uncharted or ALL


def test_what_is_not_charted_has_its_words_on_the_page_and_in_the_text(knowledge):
    captions = Captions(knowledge, Audience.PHONE)
    assert phrases.CALL_BACK in str(captions.aloud(7, CUT))
    assert Captions(knowledge, Audience.BAY).aloud(7, CUT) is None


@pytest.mark.parametrize("complaint", ["fuel-smell", "stalls"])
def test_the_text_of_a_phone_chart_has_words_at_each_end(knowledge, complaint):
    graph = compile_decision_graph(knowledge, SERVICE, complaint, Audience.PHONE, limits=Limits(boxes=8))
    text = make_chart(graph, knowledge, (), "2026-01-02", PAPERS["letter"]).text
    assert "END. " in text
    assert all("Aloud " in end for end in text.split("END. ")[1:])


def signs_of(knowledge, graph):
    """Box -> danger signs to people that keep the engine off there: the complaint's own, and those on the way to it."""
    off = {f"{c.id}:{result}" for c in knowledge.checks.values() if c.tier is Tier.PEOPLE for result in c.engine_off}
    own = {f"{check}:{result}" for check, result in knowledge.complaints[graph.complaint].reports.items()} & off
    found = {box.number: set(own) for box in graph.boxes}
    boxes, waiting = {box.number: box for box in graph.boxes}, [1]
    while waiting:
        box = boxes[waiting.pop()]
        for way in box.exits:
            new = found[way.target] | led_by(box, way.answers, off)
            if not isinstance(box.step, DoRepair):
                new |= found[box.number]
            found[way.target] = new
            waiting.append(way.target)
    return found


def led_by(box, answers, off):
    """The signs of `off` that these answers of a box are; two or more of a screen may be any of its signs."""
    match box.step:
        case DangerScreen(checks) if SEVERAL in answers:
            return {sign for sign in off if sign.partition(":")[0] in checks}
        case MakeCheck(check=check):
            return {f"{check}:{answer}" for answer in answers} & off
        case _:
            return {*answers} & off


def test_nothing_on_paper_runs_the_engine_after_a_sign_to_people(knowledge):
    """Raw fuel, smoke or fire: "last, engine on briefly" stood behind them."""
    seen = 0
    for graph in graphs(knowledge, Audience.BAY, DANGEROUS, 8):
        looks = Looks(knowledge, graph.service, graph.complaint)
        signs = signs_of(knowledge, graph)
        for box in graph.boxes:
            if signs[box.number]:
                seen += isinstance(box.step, TryInOrder)
                assert not runs(knowledge, looks, box), (graph.complaint, box, signs[box.number])
    assert seen > 10


def runs(knowledge, looks, box):
    """What a box runs the engine for, before any repair of what the sign points at; empty if for nothing."""
    match box.step:
        case TryInOrder(repairs=repairs, then=then):
            look = {name: looks.before(name) for name in repairs}
            looked = [name for name, seen in look.items() if seen and seen[0].runs_engine]
            return [*then, *(name for name in repairs if knowledge.repairs[name].runs_engine), *looked]
        case MakeCheck(despite=despite) | ReadPanel(despite=despite) | DoRepair(despite=despite):
            return list(despite)
        case _:
            return []


def test_after_two_signs_at_once_the_open_fuel_line_is_looked_at_with_the_engine_off(knowledge):
    """It stood under "only after all of these, and with the engine on"."""
    graph = compile_decision_graph(knowledge, "fuel", "no-start-cranks", Audience.BAY, limits=Limits(boxes=8))
    boxes = {box.number: box.step for box in graph.boxes}
    ends = [boxes[way.target] for box in graph.boxes for way in box.exits if SEVERAL in way.answers]
    ends = [end for end in ends if isinstance(end, TryInOrder) and end.danger]
    assert ends
    assert all("latch-rail-line" in end.repairs and not end.then for end in ends)
