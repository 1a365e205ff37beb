"""The text twin has the boxes and exits of the chart, and everything that no box has room for."""

import re
from dataclasses import replace

import pytest

from comeback.diagrams.paper.captions import Captions
from comeback.engine.charts.decision_graph import CUT, NONE_OF_THESE, Box, Exit
from comeback.engine.walk.steps import DangerScreen, MakeCheck
from comeback.kb.vocabulary import Audience


def read(text):
    """Box number -> targets, as a reader of the text would find them."""
    found = {}
    for part in re.split(r"^Step (?=\d)", text, flags=re.M)[1:]:
        number = int(re.match(r"\d+", part)[0])
        found[number] = [int(n) for n in re.findall(r"go to (\d+)\.", re.sub(r"\s+", " ", part))]
    return found


@pytest.mark.parametrize("who", ["bay", "phone"])
def test_same_boxes_and_exits(charts, compiled, shipped_graphs, who):
    for name, graph in (("small", compiled[who]), ("shipped", shipped_graphs[who])):
        wanted = {box.number: [way.target for way in box.exits] for box in graph.boxes}
        assert read(charts[f"{name} {who}"].text) == wanted


def test_same_boxes_and_exits_when_merged(small, chart_of, random_graph):
    graph = random_graph(2)
    assert read(chart_of(graph, small).text) == {b.number: [way.target for way in b.exits] for b in graph.boxes}


def test_every_answer_is_there_in_words(charts, compiled, small):
    text = re.sub(r"\s+", " ", charts["small bay"].text)
    for box in compiled["bay"].boxes:
        if getattr(box.step, "check", None) == "volts":
            assert all(label in text for label in small.checks["volts"].results.values())


def test_a_measurement_has_place_tool_state_and_limits(charts):
    text = charts["small bay"].text
    step = re.search(r"Step \d+\.\s+Voltage at the socket\?.*?(?=\n\n)", text, re.S)[0]
    assert "First   Ladder set up" in step
    assert "Measure at the socket." in step
    limits = "Limits 11 to 16 V = 11 to 16; 5 to 11 V = 5 to 11; below 5 V = 0 to 5 V"
    assert limits in re.sub(r"\s+", " ", step)


def test_a_repair_has_its_steps_and_proof(charts):
    step = re.search(r"Repair: Screw the lamp in\..*?(?=\n\n)", charts["small bay"].text, re.S)[0]
    assert "Screw the new lamp in." in step or "Screw the lamp in." in step
    assert "Proof   Lamp seat: The lamp is tight." in step


def test_cautions_come_before_the_step(charts):
    text = charts["small bay"].text
    assert text.index("[!] CAUTION") < text.index("Step 1.")
    assert "Let the lamp cool. A lamp is hot. It burns fingers." in re.sub(r"\s+", " ", text)


def test_lines_are_short_and_say_share_date_and_limits(charts):
    for chart in charts.values():
        assert all(len(line) <= 79 for line in chart.text.splitlines())
        plain = re.sub(r"\s+", " ", chart.text)
        assert re.search(rf"\b{round(100 * chart.heading.carried)} of 100 (cars|calls) end", plain)
        assert "Ends right:" in plain
        assert "Uncontrolled copy" in plain
        assert "not an inspection" in plain


def test_a_call_is_read_aloud_to_its_end(charts, small):
    text = re.sub(r"\s+", " ", charts["small phone"].text)
    assert '"Is the lamp lit?"' in text or '"Do you see sparks?"' in text
    assert '"Get away. Call for help."' in text


def test_a_second_look_says_so_in_the_box_and_in_the_text(small, chart_of, random_graph):
    """The same words as on the screen of the walk: look again at what hardly fits."""
    step = MakeCheck("lamp-turns", 1.0, 0.0, (), (), again="turns")
    ways = (Exit(("tight",), 0.5, 2), Exit(("turns",), 0.5, 2))
    graph = replace(random_graph(0), boxes=(Box(1, step, 1.0, ways), Box(2, CUT, 1.0, ())), cards=())
    assert Captions(small, Audience.BAY).of(graph.boxes[0]).title.startswith("1. Look again: ")
    assert re.search(r"Step 1\.\s+Look again: ", chart_of(graph, small).text)


def test_a_danger_sign_after_which_the_chart_asks_on_says_stop_first(small, chart_of, random_graph):
    ways = (Exit((NONE_OF_THESE,), 0.5, 2), Exit(("spark:yes",), 0.5, 3))
    asked = MakeCheck("lamp-turns", 1.0, 0.0, (0.5, 0.5))
    boxes = (
        Box(1, DangerScreen(("spark",)), 1.0, ways),
        Box(2, CUT, 0.5, ()),
        Box(3, asked, 0.5, (Exit(("tight", "turns"), 1.0, 2),)),
    )
    chart = chart_of(replace(random_graph(0), boxes=boxes, cards=()), small)
    assert "STOP: switch off. When safe: go to 3." in re.sub(r"\s+", " ", chart.text)
    drawn = [way.connector.text for page in chart.pages for row in page.rows for way in row.sides if way.connector]
    assert any(text.startswith("▲ STOP: switch off. When safe: ") for text in drawn)
