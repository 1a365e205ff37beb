"""The pictures of the README: there, of the size that the program draws, and made again when the layout changes."""

import re
import struct
from pathlib import Path

from comeback.diagrams.printing import DOTS_PER_INCH, PAPERS

TOP = Path(__file__).parent.parent.parent


def size(picture):
    """Width and height in the header of a PNG (W3C PNG specification, 11.2.2 IHDR)."""
    head = (TOP / picture).read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    return struct.unpack(">II", head[16:])


def test_every_picture_of_the_readme_is_there():
    named = re.findall(r"\]\((\S+\.png)\)|src=\"(\S+\.png)\"", (TOP / "README.md").read_text())
    assert [first or second for first, second in named] == ["diagrams/example.png", "diagrams/page/example.png"]
    for one in named:
        assert (TOP / (one[0] or one[1])).stat().st_size < 500_000


def test_the_chart_is_a_letter_page_as_drawn_and_the_page_a_phone_upright():
    paper = PAPERS["letter"]
    assert size("diagrams/example.png") == tuple(round(s * DOTS_PER_INCH / 72) for s in (paper.width, paper.height))
    width, height = size("diagrams/page/example.png")
    assert width < height
