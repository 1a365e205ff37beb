"""Every page of shipped charts, measured as drawn: type, boxes, words, crossings, overlaps, direction, contrast, paths.

A few charts each time; with COMEBACK_EVERY_CHART=1 those of all complaints for both readers. The limits
are the project's own, after what printed procedures ask for: 10 pt type, at most 18 boxes, 25 words.
"""

import os
import re
from dataclasses import replace
from itertools import combinations, pairwise

import pytest

from comeback.diagrams.captions import WORDS
from comeback.diagrams.cards import CardPage
from comeback.diagrams.chart import make_chart
from comeback.diagrams.cutting import BOXES
from comeback.diagrams.fitting import PAGES, fitted_graph
from comeback.diagrams.measure import PAPERS, TYPE, WALL, WALL_PAPERS
from comeback.diagrams.program import draw
from comeback.diagrams.svg import on_paper, smallest_type
from comeback.engine.decision_graph import Growth, Limits, is_end_of_paper, start
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience

pytestmark = pytest.mark.dot
PAPER = {
    "letter": PAPERS["letter"],
    "worksheet": replace(PAPERS["a4"], worksheet=True),
    "wall": WALL_PAPERS["a4"],
}
FEW = ["high-idle bay letter", "radio-code bay worksheet", "fuel-drip bay wall", "hunting-idle phone letter"]
EVERY = [f"{complaint} {who} letter" for complaint in load_knowledge().complaints for who in ("bay", "phone")]
NAMES = [*FEW, *EVERY] if os.environ.get("COMEBACK_EVERY_CHART") else FEW
BLACK = 21.0  # contrast of black on white, WCAG 2.2


@pytest.fixture(scope="module", params=NAMES)
def printed(request, shipped):
    """A graph, its chart, and each of its pages with what was drawn."""
    complaint, who, paper = request.param.split()
    growth = Growth(start(shipped, "intake-cleaning", complaint, Audience(who)), Limits())
    graph = fitted_graph(growth, PAPER[paper])
    chart = make_chart(graph, shipped, (), "2026-01-31", PAPER[paper])
    return graph, chart, [(page, chart.dot(page)) for page in chart.sheets]


def test_it_has_few_pages_and_few_boxes_on_each(printed):
    _, chart, _ = printed
    assert len(chart.sheets) <= PAGES
    assert all(page.boxes <= BOXES for page in chart.pages)


def test_no_box_has_many_words(printed):
    _, chart, _ = printed
    for page in chart.pages:
        for row in page.rows:
            ends = [way.ending for way in (*row.sides, row.down) if way and way.ending]
            assert all(caption.words <= WORDS for caption in (row.caption, *ends))


def test_type_on_paper_is_as_large_as_promised(printed):
    _, chart, pages = printed
    promised = TYPE * (WALL if chart.paper.scale > 1 else 1)
    for page, text in pages:
        drawing = draw(text, "svg").decode()
        for paper in [chart.paper, *(PAPERS.values() if chart.paper.name == "letter" else [])]:
            sheet = on_paper(drawing, paper, "t", "d")
            size = smallest_type(sheet)
            assert size >= promised - 0.005 or paper.height < chart.paper.height, f"page {page.number} on {paper.name}"


def test_all_is_black_on_white_or_light_grey(printed):
    """So nothing hangs on colour, and contrast is the same on a grey printer."""
    for page, text in printed[2]:
        drawing = draw(text, "svg").decode()
        fills = set(re.findall(r'<text[^>]* fill="([^"]+)"', drawing))
        assert fills <= {"black"}, f"page {page.number}"
        areas = set(re.findall(r'<(?:polygon|path|ellipse)[^>]*fill="([^"]+)"', drawing))
        assert all(contrast(fill) >= 4.5 for fill in areas - {"none", "transparent", "black"}), f"page {page.number}"


def test_nothing_overlaps_crosses_or_runs_upward(printed):
    for page, text in printed[2]:
        if isinstance(page, CardPage):
            continue
        boxes, edges = plain(text)
        for one, other in combinations(sorted(boxes), 2):
            assert not overlap(boxes[one], boxes[other]), f"page {page.number}: {one}, {other}"
        segments = [(tail, head, *ends) for tail, head, points in edges for ends in pairwise(points)]
        for tail, head, start_, end in segments:
            assert end[1] <= start_[1] + 0.03, f"page {page.number}: {tail} -> {head} runs upward"
            area = (min(start_[0], end[0]), min(start_[1], end[1]), max(start_[0], end[0]), max(start_[1], end[1]))
            foreign = [n for n in boxes if n not in (tail, head) and not n.startswith("line")]
            assert not any(overlap(area, boxes[n]) for n in foreign), f"page {page.number}: {tail} -> {head}"
        for one, other in combinations(segments, 2):
            if not {one[0], one[1]} & {other[0], other[1]}:
                assert not cross(one[2:], other[2:]), f"page {page.number}: {one[:2]} crosses {other[:2]}"


def test_text_twin_has_every_step_and_card(printed):
    graph, chart, _ = printed
    assert [int(n) for n in re.findall(r"^Step (\d+)\.", chart.text, re.M)] == [box.number for box in graph.boxes]
    cards = [card.name for page in chart.cards for card in page.cards]
    assert re.findall(r"^Card (R\d+)\.", chart.text, re.M) == cards


def test_every_card_named_has_its_card_and_every_card_is_named(printed):
    _, chart, _ = printed
    cards = {card.name for page in chart.cards for card in page.cards}
    ends = [
        way.ending for page in chart.pages for row in page.rows for way in (*row.sides, row.down) if way and way.ending
    ]
    ends += [row.caption for page in chart.pages for row in page.rows]
    named = {name for end in ends for name in re.findall(r"\bR\d+\b", " ".join((end.title, *end.details)))}
    assert named == cards


def test_danger_signs_stand_in_words_on_page_1(printed, shipped):
    graph, _, pages = printed
    told = re.sub(r"\s+", " ", re.sub(r"</?(?:TABLE|TR|TD|FONT|BR|B)\b[^>]*>", " ", pages[0][1]))
    for check in getattr(graph.boxes[0].step, "checks", ()):
        entry = shipped.checks[check]
        wanted = entry.say if graph.audience is Audience.PHONE else entry.name
        assert wanted.split()[-1].strip("?.") in told


def test_every_end_but_a_hand_over_settles_somebody(printed):
    graph, _, _ = printed
    assert 0 < graph.repaired <= graph.carried <= 1
    assert any(is_end_of_paper(box.step) or not box.exits for box in graph.boxes)


def plain(text):
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


def overlap(one, other, slack=0.02):
    apart = one[2] - slack <= other[0] or other[2] - slack <= one[0]
    return not (apart or one[3] - slack <= other[1] or other[3] - slack <= one[1])


def cross(one, other):
    """True if two segments cross in their inside."""

    def side(a, b, c):
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    (a, b), (c, d) = one, other
    return side(a, b, c) * side(a, b, d) < -1e-9 and side(c, d, a) * side(c, d, b) < -1e-9


def contrast(fill):
    """Contrast of black type on a fill, by the formula of WCAG 2.2 (relative luminance)."""
    if fill == "white":
        return BLACK
    parts = [int(fill[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return (0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2] + 0.05) / 0.05
