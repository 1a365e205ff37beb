"""Drawn pages: type size on paper, nothing overlaps, nothing crosses. Needs a layout program."""

import re
import xml.etree.ElementTree as ElementTree
from itertools import pairwise

import pytest

from comeback.diagrams.drawing.program import draw
from comeback.diagrams.drawing.svg import on_paper, smallest_type
from comeback.diagrams.paper.measure import PAPERS

pytestmark = pytest.mark.dot
NAMES = ["small bay", "small phone", "shipped bay", "shipped phone", "random 0", "random 1"]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_type_is_at_least_ten_points_on_paper(charts, name, paper):
    chart = charts[name]
    for page in chart.pages:
        sheet = on_paper(draw(chart.dot(page), "svg").decode(), PAPERS[paper], "t", "d")
        assert smallest_type(sheet) >= 10, f"page {page.number}"


def test_a_chart_for_a4_uses_its_height(small, chart_of, random_graph):
    assert len(chart_of(random_graph(0), small, "a4").pages) <= len(chart_of(random_graph(0), small).pages)


def test_sheet_is_well_formed_named_and_lettered(charts):
    files = dict(charts["small bay"].files(["svg"]))
    sheet = files["dark-bay-1.svg"].decode()
    root = ElementTree.fromstring(sheet)
    assert root.attrib["width"] == "612pt"
    assert root.attrib["height"] == "792pt"
    assert root.attrib["role"] == "graphics-document"
    assert root[0].text == "It is dark, page 1 of " + str(len(charts["small bay"].sheets))
    assert "dark-bay.txt" in root[1].text
    families = set(re.findall(r'font-family="([^"]*)"', sheet))
    assert families == {"Liberation Sans, Arimo, Helvetica, Arial, sans-serif"}
    assert "transparent" not in sheet


def test_text_of_every_box_is_in_the_drawing(charts):
    chart = charts["shipped phone"]
    for page in chart.pages:
        sheet = draw(chart.dot(page), "svg").decode()
        told = " ".join(ElementTree.fromstring(sheet.split("?>", 1)[1].split(">", 1)[1]).itertext())
        for row in page.rows:
            assert all(line in told for line in row.caption.title_lines)


@pytest.mark.parametrize("name", NAMES)
def test_boxes_do_not_overlap_and_lines_do_not_pass_through_them(charts, name, plain):
    chart = charts[name]
    for page in chart.pages:
        boxes, edges = plain(chart.dot(page))
        names = sorted(boxes)
        for i, one in enumerate(names):
            assert not any(overlap(boxes[one], boxes[other]) for other in names[i + 1 :]), f"page {page.number}: {one}"
        for tail, head, points in edges:
            foreign = [n for n in names if n not in (tail, head) and not n.startswith("line")]
            for (x0, y0), (x1, y1) in pairwise(points):
                area = (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
                assert not any(overlap(area, boxes[n]) for n in foreign), f"page {page.number}: {tail} -> {head}"


@pytest.mark.parametrize("name", NAMES)
def test_flow_runs_down_and_to_the_right_in_straight_lines(charts, name, plain):
    """Lines that run only down or only right, and not through boxes, cannot cross in this layout."""
    chart = charts[name]
    for page in chart.pages:
        _, edges = plain(chart.dot(page))
        for tail, head, points in edges:
            (x0, y0), (x1, y1) = points[0], points[-1]
            level, upright = abs(y0 - y1) < 0.03, abs(x0 - x1) < 0.03
            assert level or upright, f"page {page.number}: {tail} -> {head}"
            assert x1 >= x0 - 0.03
            assert y1 <= y0 + 0.03


def overlap(one, other, slack=0.02):
    return (
        one[0] < other[2] - slack
        and other[0] < one[2] - slack
        and one[1] < other[3] - slack
        and other[1] < one[3] - slack
    )
