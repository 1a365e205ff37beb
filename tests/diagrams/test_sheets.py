"""Sheets as they are drawn: pages, sizes, words, numbers; nothing cut off, nothing that a copier loses."""

import io
import re

import pytest
from pypdf import PdfReader

from comeback.diagrams.printing import PAPERS, WALL_PAPERS, Paper, data_of, typeset
from comeback.diagrams.text import text_of
from comeback.diagrams.words import in_signs, runs, sheet_of
from comeback.engine.charts.phone import phone_ladder
from comeback.engine.charts.planner import bay_ladder

FOOT = "Printed 2026-01-31."


def drawn(sheet, paper=PAPERS["letter"], kind="pdf"):
    return typeset(data_of([sheet], paper, sheet.title, FOOT), kind)


def pages_of(sheet, paper=PAPERS["letter"]):
    return PdfReader(io.BytesIO(drawn(sheet, paper)[0])).pages


def squeezed(text):
    return re.sub(r"\s+", "", text)


@pytest.fixture(scope="module")
def pages(sheets):
    return [pages_of(sheet) for sheet in sheets]


def test_a_bay_chart_has_four_pages_at_most_and_a_phone_chart_two(sheets, pages):
    for sheet, found in zip(sheets, pages, strict=True):
        assert len(found) <= (4 if sheet.reader == "Bay" else 2), sheet.name


def test_every_page_bears_title_service_reader_number_and_the_four_heads(sheets, pages):
    for sheet, found in zip(sheets, pages, strict=True):
        for number, page in enumerate(found, 1):
            text = squeezed(page.extract_text())
            for told in (sheet.title, sheet.after, f"{sheet.reader}{number} of {len(found)}", *sheet.heads, FOOT):
                assert squeezed(told) in text, (sheet.name, number, told)


def test_every_row_is_on_the_paper_and_in_the_text_version(sheets, pages):
    for sheet, found in zip(sheets, pages, strict=True):
        paper = squeezed(" ".join(page.extract_text() for page in found))
        text = squeezed(text_of(sheet, FOOT))
        for step in sheet.steps:
            for line in step.lines:
                for told in filter(None, (line.look, line.how, line.find, *line.do, line.fixed)):
                    assert squeezed(in_signs(told)) in paper, (sheet.name, step.number, told)
                    assert squeezed(in_signs(told)) in text, (sheet.name, step.number, told)


def test_paper_and_text_have_the_same_numbers(sheets, pages):
    for sheet, found in zip(sheets, pages, strict=True):
        text = text_of(sheet, FOOT)
        numbers = [int(number) for number in re.findall(r"^(\d+)\. ", text, re.M)]
        assert numbers == [step.number for step in sheet.steps]
        paper = squeezed(" ".join(page.extract_text() for page in found))
        for step in sheet.steps:
            assert squeezed(f"{step.number}{step.title}") in paper
            if step.then and step.then != step.number + 1 and not step.codes:
                assert squeezed(f"go on at {step.then}") in paper
        assert sheet.figures in re.sub(r"\s+", " ", text)


@pytest.mark.parametrize(
    ("paper", "least"),
    [(PAPERS["letter"], 10), (PAPERS["a4"], 10), (WALL_PAPERS["letter"], 14), (WALL_PAPERS["a4"], 14)],
    ids=["letter", "a4", "wall letter", "wall a4"],
)
def test_type_is_large_enough_and_nothing_runs_over_the_edge(sheets, paper, least):
    for sheet in sheets[:1] + sheets[4:5]:
        for page in pages_of(sheet, paper):
            assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
                (paper.width, paper.height), abs=0.1
            )
            seen = []

            def visit(text, cm, tm, font, size, seen=seen):
                if text.strip():
                    x, y = (
                        tm[4] * cm[0] + tm[5] * cm[2] + cm[4],
                        tm[4] * cm[1] + tm[5] * cm[3] + cm[5],
                    )
                    seen.append((x, y, abs(size * tm[0] * cm[0])))

            page.extract_text(visitor_text=visit)
            assert seen
            for x, y, size in seen:
                assert 20 <= x <= paper.width - 20
                assert 8 <= y <= paper.height - 8
                assert size >= least - 0.01


def test_a_copier_loses_nothing(sheets):
    for page in drawn(sheets[0], kind="svg"):
        colors = set(re.findall(r'(?:fill|stroke)="#([0-9a-f]{6})', page.decode()))
        assert colors
        assert all(color[:2] == color[2:4] == color[4:] for color in colors)


def test_wall_and_worksheet_are_the_same_chart(sheets):
    """Letter, wall and worksheet once disagreed on the steps of one complaint."""
    plain = squeezed(" ".join(page.extract_text() for page in pages_of(sheets[0])))
    wall = squeezed(" ".join(page.extract_text() for page in pages_of(sheets[0], Paper(792, 1224, 14, True))))
    assert "Seen,time,by" in wall
    assert "Seen,time,by" not in plain
    for step in sheets[0].steps:
        assert squeezed(f"{step.number}{step.title}") in wall


def test_cautions_stand_in_their_step_before_its_rows_and_danger_in_full(sheets):
    text = text_of(sheets[3], FOOT)
    for step in sheets[3].steps:
        if step.cautions and step.lines and not step.codes:
            part = text[text.index(f"\n{step.number}. ") :]
            assert part.index(step.cautions[0].word) < part.index(sheets[3].heads[2].upper())


def test_danger_stands_in_full_on_the_paper(sheets, pages):
    seen = 0
    for sheet, found in zip(sheets, pages, strict=True):
        paper = squeezed(" ".join(page.extract_text() for page in found))
        every = (*sheet.common, *(one for step in sheet.steps if not step.codes for one in step.all_cautions))
        for one in every:
            if one.word == "DANGER":
                seen += 1
                assert squeezed(in_signs(one.full)) in paper, (sheet.name, one.id)
    assert seen


def test_the_same_input_gives_the_same_bytes(sheets):
    for kind in ("pdf", "svg", "png"):
        assert drawn(sheets[4], kind=kind) == drawn(sheets[4], kind=kind)


def test_codes_in_a_row_are_shortened():
    """By hand: three and more in a row become `to`, also across the hexadecimal digits of SAE J2012."""
    assert runs(["P0301", "P0300", "P0302", "P0305"]) == ["P0300 to P0302", "P0305"]
    assert runs(["P0100", "P0101"]) == ["P0100, P0101"]
    assert runs(["P0509", "P050A", "P050B"]) == ["P0509 to P050B"]


def test_by_phone_every_answer_says_what_to_tell_and_it_is_there_to_read_aloud(sheets):
    for sheet in sheets[4:]:
        names = {spoken.name for spoken in sheet.spoken}
        for step in sheet.steps:
            assert step.lines
            assert all(set(line.do) <= names for line in step.lines)
            assert all(line.how.endswith("?") for line in step.lines if line.span)
        assert "do not drive, we call you back" in " ".join(sheet.end)


def test_a_chart_of_a_service_that_a_diesel_gets_too_says_that_it_is_for_gasoline(knowledge):
    """What is not covered gets no chart that looks like its own."""
    oil, plugs = (
        sheet_of(phone_ladder(knowledge, service, "rough-idle"), knowledge).after
        for service in ("oil-service", "plugs-coils")
    )
    assert oil.endswith(", gasoline engine")
    assert "gasoline" not in plugs


def test_the_state_of_the_engine_is_read_from_the_knowledge(knowledge):
    """A check made while cranking once stood under `Engine running` for an engine that does not start."""
    sheet = sheet_of(bay_ladder(knowledge, "intake-cleaning", "no-start-cranks"), knowledge)
    titles = [step.title for step in sheet.steps if not step.codes]
    assert any(title.startswith("Cranking") for title in titles)
    assert not any("running" in title for title in titles)
    assert "Key on, engine off, fuel pressure gauge" in titles


def test_what_keeps_the_engine_off_says_what_to_do_then(knowledge):
    """`Engine stays off until this is fixed` once stood beside a fuel drip without a word on how to fix it."""
    sheet = sheet_of(bay_ladder(knowledge, "oil-service", "fluid-leak"), knowledge)
    told = [line.do for step in sheet.steps for line in step.lines if any("Engine stays off" in do for do in line.do)]
    assert told
    assert all(len(do) > 1 or "go on with the chart “" in do[0] for do in told)
