"""A drawn page as a sheet of paper: its size, its fonts, its title for readers who cannot see it."""

import re
from html import escape

from comeback.diagrams.measure import BINDING, MARGIN, Paper

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
    width, height = float(found[1]), float(found[2])
    room = paper.usable
    shrunk = max(1.0, width / room[0], height / room[1])
    scale = shrunk / paper.scale
    left = -BINDING * scale - max(0.0, room[0] * shrunk - width) / 2
    box = f"{left:.2f} {-MARGIN * scale:.2f} {paper.width * scale:.2f} {paper.height * scale:.2f}"
    root = f'<svg width="{paper.width:g}pt" height="{paper.height:g}pt" viewBox="{box}"'
    names = ' role="graphics-document" aria-labelledby="chart-title" aria-describedby="chart-text"'
    drawing = drawing[: found.start()] + root + names + drawing[found.end() :]
    return _described(lettered(drawing), title, description)


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
