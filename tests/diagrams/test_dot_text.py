"""The DOT text of a page: structure, not the renderer's bytes."""

import re
from dataclasses import replace
from html import unescape

import pytest

from comeback.diagrams.chart import make_chart
from comeback.diagrams.drawing.markup import caption_label, plain_label
from comeback.diagrams.paper.captions import Caption, Kind
from comeback.diagrams.paper.measure import PAPERS, TYPE


def texts(chart):
    return [chart.dot(page) for page in chart.pages]


def test_same_input_same_bytes(small, chart_of, random_graph):
    one, two = (chart_of(random_graph(1), small) for _ in range(2))
    assert texts(one) == texts(two)
    assert one.text == two.text


def test_every_step_is_a_node_with_a_table_of_its_answers_beside_it(charts):
    for chart in charts.values():
        for page, text in zip(chart.pages, texts(chart), strict=True):
            for row in page.rows:
                assert re.search(rf"^\tstep{row.number} \[", text, re.M)
                beside = re.search(rf"^\ttable{row.number} \[label=<(.*)> group=", text, re.M)
                assert bool(beside) == bool(row.sides)
                if beside:
                    told = re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", beside[1])))
                    assert f"step{row.number}:e -> table{row.number}:w" in text
                    assert all(re.search(rf"\b{way.target}\b", told) for way in row.sides)
                    for way in row.sides:
                        assert " ".join(way.answer.splitlines()[0].split()) in told
                assert (f"down{row.number} [" in text) == bool(row.down and row.down.answer)


def test_shapes_tell_the_kinds_apart_without_colour(charts):
    chart = charts["random 0"]
    text = chart.dot(chart.pages[0])
    question = re.search(r"^\tstep1 \[(.*)\]$", text, re.M)[1]
    assert "style=rounded" in question
    assert "1. " in question
    assert "?" in question
    assert '<TABLE BORDER="1" CELLBORDER="1" CELLSPACING="2"' in "".join(texts(chart))  # the double border of an end
    assert 'BORDER="3"' in "".join(texts(chart))
    assert not re.search(r"color=\"?(red|green|yellow|orange|blue)", text)


def test_lines_are_straight_and_never_orthogonal(charts):
    for text in texts(charts["shipped bay"]):
        assert "splines=line" in text
        assert "ortho" not in text


def test_each_page_can_be_used_by_itself(charts):
    for name in ("shipped bay", "shipped phone"):
        chart = charts[name]
        for page, text in zip(chart.pages, texts(chart), strict=True):
            plain = re.sub(r"<[^>]*>", " ", text)
            assert "Hard brake pedal" in plain
            assert f"Page {page.number} of {len(chart.sheets)}" in plain
            assert f"Knowledge {chart.heading.knowledge}, printed 2026-01-31." in plain
            assert "Uncontrolled copy when printed." in plain
            assert "STOP" in plain
            assert "Phone: ____" in plain
            assert "licensed practice come first" in plain
            assert ("Key" in plain) == page.key
        assert sum(page.key for page in chart.pages) == 1


def test_no_type_is_smaller_than_ten_points(charts):
    for chart in charts.values():
        for text in texts(chart):
            sizes = [float(size) for size in re.findall(r"(?:fontsize=|POINT-SIZE=\")([\d.]+)", text)]
            assert min(sizes) >= TYPE == 10


@pytest.mark.parametrize("text", ["5 V < x > 3 V", "R & D", r"C:\new \N", 'say "no"', "<lambda>", "Ω ≥ 3 °C"])
def test_any_text_is_quoted(text):
    label = caption_label(Caption(Kind.QUESTION, text, (text,)), 100)
    inner = re.sub(r"</?(TABLE|TR|TD|FONT|B|BR)\b[^>]*>", "", label[1:-1])
    assert "<" not in inner
    assert inner.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&") == text + text
    assert plain_label([text]).count("<") == 1 + 0 * len(text)


def test_a_chart_of_one_box(small, random_graph):
    box = random_graph(0).boxes[-1]
    graph = replace(random_graph(0), boxes=(replace(box, number=1),))
    chart = make_chart(graph, small, (("key", "keyless"),), "2026-01-31", PAPERS["a4"])
    assert len(chart.pages) == 1
    assert "key keyless" in chart.dot(chart.pages[0])
