"""Sheets on paper: one PDF, or a picture of each page; the same bytes for the same input.

Text reaches the typesetter as data, never as markup. Its fonts come with this package.
"""

import json
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from importlib import resources
from typing import Any

import typst

from comeback.diagrams.sheet import Sheet
from comeback.diagrams.words import in_signs

STANDARD = "ua-1"
"""PDF/UA-1: refuses a document without title, tags and alternative texts."""
DOTS_PER_INCH = 150
SPACINGS = ("normal", "tight", "loose")
LEAST_FILLED, WELL_FILLED = 1 / 6, 0.6
"""Of the last page, so that it is worth turning to, and so that closer lines would not save it; judged."""
MOST_PAGES = 4
"""Of a chart that is spaced as usual."""
MORE: dict[str, dict[str, Any]] = {"pdf": {"pdf_standards": [STANDARD]}, "png": {"ppi": DOTS_PER_INCH}}


class TypesettingError(OSError):
    """A sheet could not be made; the message says why and what to do."""


@dataclass(frozen=True)
class Paper:
    """Width and height in points, type size in points, whether rows have fields to write in."""

    width: float
    height: float
    size: float = 10.0
    worksheet: bool = False


PAPERS = {"letter": Paper(612, 792), "a4": Paper(595.276, 841.89)}
WALL_PAPERS = {"letter": Paper(792, 1224, 14), "a4": Paper(841.89, 1190.55, 14)}
"""Twice as large: tabloid and A3."""


def data_of(sheets: Sequence[Sheet], paper: Paper, title: str, foot: str) -> dict[str, Any]:
    """What `ladder.typ` reads."""
    return {**asdict(paper), "title": title, "foot": foot, "sheets": [asdict(one) for one in sheets]}


def fitted(sheet: Sheet, paper: Paper) -> tuple[Sheet, int]:
    """The sheet spaced for few pages, the last of them not nearly empty; their number. Raises TypesettingError."""
    ways = [replace(sheet, spacing=spacing) for spacing in SPACINGS]
    pages, down = last_page(ways[0], paper)
    if pages == 1 or (pages <= MOST_PAGES and down >= WELL_FILLED):
        return ways[0], pages
    ends = [(pages, down), *(last_page(one, paper) for one in ways[1:])]
    fewest = min(pages for pages, _ in ends)
    best = min(range(len(ways)), key=lambda k: (ends[k][0], fewest > 1 and ends[k][1] < LEAST_FILLED, k))
    return ways[best], fewest


def last_page(sheet: Sheet, paper: Paper) -> tuple[int, float]:
    """The number of the page on which the sheet ends, and how far down: 0 to 1. Raises TypesettingError."""
    data = data_of([sheet], paper, sheet.title, "")
    query = _typst(typst.query, data, _source("ladder.typ"), selector="<chart-end>", field="value", one=True)
    page, down = json.loads(query)
    _typst(typst.compile, {}, b"", format="svg")  # frees what queries keep, 10 MB each
    return int(page), float(down)


def typeset(data: dict[str, Any], kind: str = "pdf", template: str = "ladder.typ") -> list[bytes]:
    """The document as one `pdf`, or as one `svg` or `png` for each page. Raises TypesettingError."""
    made = _typst(typst.compile, data, _source(template), format=kind, **MORE.get(kind, {}))
    return [bytes(page) for page in made] if isinstance(made, list) else [bytes(made)]


def _source(template: str) -> bytes:
    return (resources.files("comeback.diagrams") / template).read_bytes()


def _typst(ask: Callable[..., Any], data: dict[str, Any], source: bytes, **more: Any) -> Any:
    """What the typesetter answers about the document. Raises TypesettingError."""
    inputs = {"data": in_signs(json.dumps(data, sort_keys=True, ensure_ascii=False))}
    try:
        return ask(source, font_paths=_fonts(), ignore_system_fonts=True, sys_inputs=inputs, **more)
    except typst.TypstError as error:
        raise TypesettingError(f"The sheet could not be made: {error}. Use --format text, and tell us.") from error


@lru_cache(1)
def _fonts() -> Any:
    with resources.as_file(resources.files("comeback.diagrams") / "fonts") as folder:
        return typst.Fonts(include_system_fonts=False, font_paths=[str(folder)])
