"""The drawing for the wall: large type, yes and no, every yes ends in an action, one page."""

import io
import re

import pytest
from pypdf import PdfReader

from comeback.diagrams.flowchart import LEAST, POINTS, REST, flowchart_data
from comeback.diagrams.printing import WALL_PAPERS, typeset

pytestmark = pytest.mark.dot


@pytest.fixture(scope="module")
def data(sheets):
    return flowchart_data(sheets[0], WALL_PAPERS["letter"], "")


def test_each_decision_has_a_yes_that_ends_in_an_action_and_a_no_that_leads_down(data, sheets):
    drawing = data["drawing"]
    yes, no = (len(re.findall(rf">(?:&#160;|\s)*{word}(?:&#160;|\s)*<", drawing)) for word in ("yes", "no"))
    assert yes == no >= LEAST
    words = re.sub(r"\s+", " ", " ".join(re.findall(r">([^<>]+)</text>", drawing)))
    assert REST in words
    assert sheets[0].steps[0].lines[0].do[0] in words


def test_the_number_of_a_step_stands_at_its_first_question_alone(data):
    """Every box of step 1 was once numbered 1."""
    words = re.findall(r">(?:&#160;|\s)*(\d+)(?:&#160;|\s){2}", data["drawing"])
    assert words == sorted(set(words), key=int)


def test_all_type_of_the_drawing_is_large(data):
    assert {float(size) for size in re.findall(r'font-size="([\d.]+)"', data["drawing"])} == {POINTS}
    assert POINTS >= 24


def test_it_is_one_page_with_the_danger_signs_on_top(data, sheets):
    pages = PdfReader(io.BytesIO(typeset(data, "pdf", "flowchart.typ")[0])).pages
    assert len(pages) == 1
    text = re.sub(r"\s+", " ", pages[0].extract_text())
    assert text.index("STOP") < text.index("yes")
    for sign in sheets[0].signs:
        assert sign in text
