"""Sheets on paper: one PDF, or a picture of each page; the same bytes for the same input.

Text reaches the typesetter as data, never as markup. Its fonts come with this package.
"""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from importlib import resources
from typing import Any

import typst

from comeback.diagrams.words import Sheet, in_signs

STANDARD = "ua-1"
"""PDF/UA-1: refuses a document without title, tags and alternative texts."""
DOTS_PER_INCH = 150
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
    """The sheet, its lines closer where that saves a page, and how many pages it takes. Raises TypesettingError."""
    ways = [sheet, replace(sheet, tight=True)]
    pages = [len(typeset(data_of([one], paper, one.title, ""), "svg")) for one in ways]
    best = pages.index(min(pages))
    return ways[best], pages[best]


def typeset(data: dict[str, Any], kind: str = "pdf", template: str = "ladder.typ") -> list[bytes]:
    """The document as one `pdf`, or as one `svg` or `png` for each page. Raises TypesettingError."""
    more: dict[str, Any] = MORE.get(kind, {})
    compiled: Any = typst.compile  # one type for each kind of output
    source = (resources.files("comeback.diagrams") / template).read_bytes()
    inputs = {"data": in_signs(json.dumps(data, sort_keys=True, ensure_ascii=False))}
    try:
        made = compiled(source, font_paths=_fonts(), ignore_system_fonts=True, format=kind, sys_inputs=inputs, **more)
    except typst.TypstError as error:
        raise TypesettingError(f"The sheet could not be made: {error}. Use --format text, and tell us.") from error
    return [bytes(page) for page in made] if isinstance(made, list) else [bytes(made)]


@lru_cache(1)
def _fonts() -> Any:
    with resources.as_file(resources.files("comeback.diagrams") / "fonts") as folder:
        return typst.Fonts(include_system_fonts=False, font_paths=[str(folder)])
