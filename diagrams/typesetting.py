"""From pages and lists to one PDF: tagged, searchable, its fonts inside, the same bytes for the same input.

The library is an optional extra; text reaches it as data, never as markup.
"""

import json
from importlib import import_module, resources
from typing import Any

MISSING = "No PDF without the extra `booklet`: pip install 'comeback-bay[booklet]'. SVG, PNG and text do without it."
STANDARD = "ua-1"
"""PDF/UA-1: refuses a document without title, tags and alternative texts."""


class TypesettingError(Exception):
    """A PDF could not be made; the message says why and what to do."""


def find_library() -> Any:
    """The library, imported only when a PDF is made. Raises TypesettingError."""
    try:
        return import_module("typst")
    except ImportError as error:
        raise TypesettingError(MISSING) from error


def typeset(data: dict[str, Any]) -> bytes:
    """The PDF of `data` as `booklet.typ` reads it. Raises TypesettingError."""
    typst = find_library()
    here = resources.files("comeback.diagrams")
    with resources.as_file(here / "fonts") as fonts:
        try:
            made = typst.compile(
                (here / "booklet.typ").read_bytes(),
                font_paths=[str(fonts)],
                ignore_system_fonts=True,
                format="pdf",
                sys_inputs={"data": json.dumps(data, sort_keys=True)},
                pdf_standards=[STANDARD],
            )
        except typst.TypstError as error:
            raise TypesettingError(f"The PDF could not be made: {error}. Write SVG instead, and tell us.") from error
    return bytes(made)
