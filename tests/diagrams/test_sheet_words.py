"""What a sheet says, read by somebody who has nothing but the sheet."""

import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader

from comeback.diagrams import printing
from comeback.diagrams.printing import PAPERS, data_of, typeset
from comeback.diagrams.text import text_of
from comeback.diagrams.words import HYBRID, sheet_of
from comeback.engine.case.result_words import results_alone
from comeback.engine.charts.ladder import by_check
from comeback.engine.charts.planner import bay_ladder


def bay(known, service, complaint):
    return sheet_of(bay_ladder(known, service, complaint), known)


@pytest.fixture(scope="module")
def overheats(shipped):
    return bay(shipped, "coolant-change", "overheating")


@pytest.mark.parametrize(
    ("check", "results", "said"),
    [
        ("heat-gauge", ["hot"], "temperature gauge: in the red, a red light, or steam"),
        ("drip-kind", ["oil"], "fluid on the ground: brown or black oil"),
        ("drip-kind", ["oil", "coolant"], "fluid on the ground: brown or black oil, or colored, slimy water"),
        ("hood-smoke", ["smoke"], "smoke or flames"),
    ],
)
def test_a_stop_sign_says_what_it_is_seen_on(shipped, check, results, said):
    """A strip once said `in the red` and `brown or black oil` alone (readers with nothing but the sheet)."""
    assert results_alone(shipped.checks[check], results) == said


def test_every_stop_sign_of_the_sheets_is_one_of_those(sheets, ladders, shipped):
    for sheet, ladder in zip(sheets, ladders, strict=True):
        assert sheet.signs == tuple(results_alone(shipped.checks[one.check], one.results) for one in ladder.dangers)


@pytest.mark.parametrize(
    ("service", "complaint", "first"),
    [
        ("oil-service", "oil-lamp", "Do not start or crank this engine until what was found is fixed"),
        ("coolant-change", "overheating", "Do not start this engine until everything that can be checked with it off"),
        ("oil-service", "fuel-smell", "Gasoline smell now: everyone away"),
        ("oil-service", "rough-idle", ""),
    ],
)
def test_a_complaint_that_keeps_the_engine_off_says_so_before_all_else(shipped, service, complaint, first):
    """The red oil light: every turn without oil pressure wears the bearings (common practice, no source)."""
    sheet = bay(shipped, service, complaint)
    assert sheet.now.startswith(first)
    assert bool(sheet.now) == bool(first)
    assert f"STOP. {first}" in re.sub(r"\s+", " ", text_of(sheet, ""))


def test_a_caution_that_not_every_row_needs_stands_in_its_row(overheats, shipped):
    """The belt tensioner's caution once stood above seven rows, six of which have no belt."""
    step = next(step for step in overheats.steps if any(line.look == "Drive belt" for line in step.lines))
    belt = next(line for line in step.lines if line.look == "Drive belt")
    assert "belt-spring" in [one.id for one in belt.cautions]
    others = [*step.cautions, *(one for line in step.lines if line is not belt for one in line.cautions)]
    assert "belt-spring" not in [one.id for one in others]
    text = re.sub(r"\s+", " ", text_of(overheats, ""))
    own = text.index("CAUTION Tensioner")
    assert text.index("LOOK AT: Drive belt.") < own < text.index("Follow the belt")


def test_no_caution_of_a_row_is_lost(overheats, shipped):
    ladder = bay_ladder(shipped, "coolant-change", "overheating")
    common = {one.id for one in overheats.common}
    for station, step in zip(ladder.stations, overheats.steps, strict=True):
        above = common | {one.id for one in step.cautions}
        looks = iter(line for line in step.lines if line.span)
        for rows in by_check(station.rows) if station.kind == "look" else ():
            line = next(looks)
            needed = {name for row in rows for repair in row.repairs for name in shipped.repairs[repair].cautions}
            if rows[0].check:
                needed |= {*shipped.checks[rows[0].check].cautions}
            assert needed <= above | {one.id for one in line.cautions}, (step.number, line.look)


def bars(sheet):
    """The bars of the steps as printed on letter paper, each where it stands and again where it goes on overleaf."""
    made = typeset(data_of([sheet], PAPERS["letter"], sheet.title, ""), "pdf")[0]
    lines = [line.strip() for page in PdfReader(io.BytesIO(made)).pages for line in page.extract_text().splitlines()]
    return [line for line in lines if re.match(r"(↓ )?\d+ .*( min| continued)$", line)]


def test_minutes_are_printed_once_where_a_step_goes_on_overleaf(overheats, sheets):
    """They were read as to be spent again."""
    printed = [bars(sheet) for sheet in (overheats, *sheets)]
    assert any(bar.endswith("continued") for found in printed for bar in found)
    for found in printed:
        timed = [re.match(r"(?:↓ )?(\d+)", bar)[1] for bar in found if bar.endswith("min")]
        assert len(timed) == len(set(timed))


def test_codes_that_are_not_on_the_sheet_are_told_what_to_do_with(sheets):
    for sheet in sheets[:4]:
        (step,) = [step for step in sheet.steps if step.decision]
        assert ("other codes", ("Write them down, go on below.",)) in [(line.find, line.do) for line in step.lines]


def test_a_hybrid_is_kept_running_as_the_maker_says_once_where_the_engine_first_idles(overheats, sheets):
    """A hybrid shuts its engine off at idle (common practice, no source)."""
    assert [step.number for step in overheats.steps if step.note] == [
        next(step.number for step in overheats.steps if step.title.startswith("Engine running"))
    ]
    assert text_of(overheats, "").replace("\n", " ").count("as the maker") == 1
    assert not [step for sheet in (sheets[1], *sheets[4:]) for step in sheet.steps if step.note]  # cranking; phone
    assert "service mode" in HYBRID


def test_a_row_that_the_car_does_not_have_leads_on(overheats):
    assert overheats.steps[0].exit == "all OK, or not on this car"


def test_a_last_page_is_not_nearly_empty_where_wider_lines_fill_it(shipped, monkeypatch):
    """A page for two rows is a page that gets lost."""
    sheet = bay(shipped, "intake-cleaning", "belt-noise")
    ends = {"normal": (2, 0.1), "tight": (2, 0.05), "loose": (2, 0.3)}
    monkeypatch.setattr(printing, "last_page", lambda one, paper: ends[one.spacing])
    assert [printing.fitted(sheet, PAPERS["letter"])[k] for k in (0, 1)] == [replace(sheet, spacing="loose"), 2]
    ends["tight"] = (1, 0.9)
    assert printing.fitted(sheet, PAPERS["letter"])[0].spacing == "tight"
    ends |= {"normal": (1, 0.1), "tight": (1, 0.05)}
    assert printing.fitted(sheet, PAPERS["letter"])[0].spacing == "normal"  # the only page


def test_where_a_sheet_ends_is_where_its_last_line_stands(shipped):
    sheet = bay(shipped, "intake-cleaning", "belt-noise")
    page, down = printing.last_page(sheet, PAPERS["letter"])
    text = PdfReader(io.BytesIO(typeset(data_of([sheet], PAPERS["letter"], sheet.title, ""), "pdf")[0]))
    heights = []
    text.pages[page - 1].extract_text(
        visitor_text=lambda told, cm, tm, *_: told.startswith("Of 100") and heights.append(tm[5] * cm[3] + cm[5])
    )
    assert len(text.pages) == page
    assert down * 792 == pytest.approx(792 - heights[0], abs=15)


@pytest.mark.parametrize(
    ("repair", "not_said"),
    [("adapt-throttle", "new throttle body"), ("use-up-fuel", "Show how to fill"), ("refit-pump-unit", "Refit")],
)
def test_a_repair_is_named_for_whoever_reads_it_on_any_chart(shipped, repair, not_said):
    """`Adapt the new throttle body` once stood on the chart of a service that puts in none."""
    assert not_said not in shipped.repairs[repair].name


def test_a_proof_that_there_is_nothing_says_of_what(shipped):
    """`Fixed when: nothing` once stood beside a device that drains the battery."""
    sheet = bay(shipped, "battery", "no-crank")
    fixed = [part for step in sheet.steps for line in step.lines for part in line.fixed.split("; ")]
    assert any(": nothing" in part for part in fixed)
    assert not [part for part in fixed if part.startswith(("nothing", "none", "they are"))]


def test_only_a_step_with_slips_of_this_very_service_says_what_the_service_touched(knowledge):
    """After an oil change the first step of the check-engine light is the fuel cap: that service never touches it."""
    said = "what the service touched"
    titles = {
        done: sheet_of(bay_ladder(knowledge, done, asked), knowledge).steps[0].title
        for done, asked in (("oil-service", "engine-light"), ("intake-cleaning", "rough-idle"))
    }
    assert said not in titles["oil-service"]
    assert said in titles["intake-cleaning"]
