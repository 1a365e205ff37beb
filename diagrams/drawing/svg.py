"""A drawn page as a sheet of paper: its size, its fonts, its title for readers who cannot see it."""

import re
from html import escape

from comeback.diagrams.paper.measure import BINDING, MARGIN, Paper

FAMILIES = "Liberation Sans, Arimo, Helvetica, Arial, sans-serif"
"""Families whose letters are as wide as those the boxes were measured with, then whatever there is."""

_ROOT = re.compile(r'<svg width="([\d.]+)(?:pt)?" height="([\d.]+)(?:pt)?"\s+viewBox="[^"]*"')
_SHEET = re.compile(r'<svg width="([\d.]+)pt" height="[\d.]+pt" viewBox="[-\d.]+ [-\d.]+ ([\d.]+) [\d.]+"')
_SIZE = re.compile(r'font-size="([\d.]+)"')


def on_paper(drawing: str, paper: Paper, title: str, description: str) -> str:
    """The SVG drawing on a page of `paper` inside its margins, shrunk only if it does not fit."""
    found = _ROOT.search(drawing)
    if found is None:
        return drawing
    left, scale = _placed(float(found[1]), float(found[2]), paper)
    box = f"{left:.2f} {-MARGIN * scale:.2f} {paper.width * scale:.2f} {paper.height * scale:.2f}"
    root = f'<svg width="{paper.width:g}pt" height="{paper.height:g}pt" viewBox="{box}"'
    names = ' role="graphics-document" aria-labelledby="chart-title" aria-describedby="chart-text"'
    drawing = drawing[: found.start()] + root + names + drawing[found.end() :]
    return _described(lettered(drawing), title, description)


def _placed(width: float, height: float, paper: Paper) -> tuple[float, float]:
    """Left edge of the paper, and points of the drawing in a point of paper, for a drawing of this size."""
    room = paper.usable
    shrunk = max(1.0, width / room[0], height / room[1])
    scale = shrunk / paper.scale
    return -BINDING * scale - max(0.0, room[0] * shrunk - width) / 2, scale


def viewport(drawing: str, paper: Paper) -> str:
    """What the layout program is told so that a picture shows the whole sheet, placed as `on_paper` does it.

    Width, height, zoom, and the middle of the sheet in points of the drawing, whose zero is at the bottom.
    """
    width, height = size_of(drawing)
    left, scale = _placed(width, height, paper)
    x, y = left + paper.width * scale / 2, height + (MARGIN - paper.height / 2) * scale
    return f"{paper.width:g},{paper.height:g},{1 / scale:.4f},{x:.2f},{y:.2f}"


def size_of(drawing: str) -> tuple[float, float]:
    """Width and height of an SVG drawing in points; ValueError if it has none."""
    found = _ROOT.search(drawing)
    if found is None:
        raise ValueError("this is no drawing of the layout program")
    return float(found[1]), float(found[2])


def lettered(drawing: str) -> str:
    """The drawing with families of the right width, and without what is no SVG colour."""
    drawing = re.sub(r'font-family="[^"]*"', f'font-family="{FAMILIES}"', drawing)
    return drawing.replace('stroke="transparent"', 'stroke="none"')


def _described(drawing: str, title: str, description: str) -> str:
    place = drawing.index(">", drawing.index("<svg")) + 1
    text = f'\n<title id="chart-title">{escape(title)}</title>\n<desc id="chart-text">{escape(description)}</desc>'
    return drawing[:place] + text + drawing[place:]


def smallest_type(sheet: str) -> float:
    """Size in points, on paper, of the smallest letters of a sheet."""
    found = _SHEET.search(sheet)
    if found is None:
        raise ValueError("this is no sheet made by `on_paper`")
    return min(map(float, _SIZE.findall(sheet))) * float(found[1]) / float(found[2])
