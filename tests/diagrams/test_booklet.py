"""The booklet read back: pages, contents, fonts inside, text that can be searched, the same bytes twice."""

import pytest

from comeback.diagrams.booklet import booklet_data, chart_data
from comeback.diagrams.paper.measure import PAPERS
from comeback.diagrams.typesetting import MISSING, TypesettingError, typeset

pytestmark = pytest.mark.dot


@pytest.fixture(scope="module")
def data(charts, shipped):
    both = [charts["shipped bay"], charts["shipped phone"]]
    return booklet_data(both, shipped, "intake-cleaning", PAPERS["letter"], "2026-01-31")


@pytest.fixture(scope="module")
def pdf(data):
    pytest.importorskip("typst")
    return typeset(data)


@pytest.fixture(scope="module")
def read(pdf):
    from io import BytesIO

    pypdf = pytest.importorskip("pypdf")
    return pypdf.PdfReader(BytesIO(pdf))


def test_same_input_same_bytes(data, pdf):
    assert typeset(data) == pdf


def test_contents_lead_to_every_part(read):
    titles = [entry.title for entry in read.outline if not isinstance(entry, list)]
    parts = ["Repairs in full", "Trouble codes", "Cautions", "Sources"]
    assert titles == ["Hard brake pedal (bay)", "Hard brake pedal (phone)", *parts]


def test_each_chart_begins_on_an_odd_page(read):
    for entry in read.outline[:2]:
        assert read.get_destination_page_number(entry) % 2 == 0  # counted from 0


def test_text_of_the_charts_can_be_searched(read, charts):
    text = " ".join(page.extract_text() for page in read.pages)
    for chart in (charts["shipped bay"], charts["shipped phone"]):
        for page in chart.pages:
            for row in page.rows:
                assert row.caption.title_lines[0] in text
    assert "Reinstall the brake booster hose" in text


def test_every_page_says_something(read):
    """A PDF without its font can come out empty and no program says so. Blank backs of odd pages are allowed."""
    first = read.get_destination_page_number(read.outline[0])
    empty = [i for i, page in enumerate(read.pages) if i >= first and len(page.extract_text()) < 20]
    assert all(i % 2 for i in empty)


def test_all_fonts_are_inside(read):
    found = set()
    for page in read.pages:
        fonts = page["/Resources"].get("/Font", {})
        for font in fonts.values():
            for below in font.get_object()["/DescendantFonts"]:
                descriptor = below.get_object()["/FontDescriptor"].get_object()
                found.add(descriptor["/FontName"].split("+")[-1])
                assert {"/FontFile2", "/FontFile3"} & set(descriptor)
    assert found <= {"LiberationSans", "LiberationSans-Bold"}
    assert found


def test_it_is_tagged_and_has_a_title_and_a_language(read):
    root = read.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert read.metadata.title.startswith("Comebacks after: ")


def test_pages_are_as_large_as_the_paper(read):
    box = read.pages[0].mediabox
    assert (float(box.width), float(box.height)) == (612.0, 792.0)


def test_a_pdf_of_one_chart_has_its_pages_and_nothing_else(charts):
    from io import BytesIO

    pytest.importorskip("typst")
    pypdf = pytest.importorskip("pypdf")
    chart = charts["shipped bay"]
    made = pypdf.PdfReader(BytesIO(typeset(chart_data([chart], chart.paper, chart.heading.title))))
    assert len(made.pages) == len(chart.sheets)


def test_text_is_never_read_as_markup(data):
    pytest.importorskip("typst")
    typeset({**data, "title": '#panic("no") *x* $y$ #read("/etc/hostname")'})


def test_without_the_library_the_remedy_is_told(data, monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(TypesettingError, match="pip install"):
        typeset(data)
    assert "comeback-bay[booklet]" in MISSING


def test_a_failure_inside_is_one_line(data):
    pytest.importorskip("typst")
    with pytest.raises(TypesettingError, match="Write SVG instead"):
        typeset({key: value for key, value in data.items() if key != "title"})
