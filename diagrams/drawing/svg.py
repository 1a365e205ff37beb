"""A drawing of the layout program as SVG: its size, and fonts of the right width."""

import re

FAMILIES = "Liberation Sans, Arimo, Helvetica, Arial, sans-serif"
"""Families whose letters are as wide as those the shapes were measured with, then whatever there is."""

_ROOT = re.compile(r'<svg width="([\d.]+)(?:pt)?" height="([\d.]+)(?:pt)?"\s+viewBox="[^"]*"')


def size_of(drawing: str) -> tuple[float, float]:
    """Width and height of an SVG drawing in points; ValueError if it has none."""
    found = _ROOT.search(drawing)
    if found is None:
        raise ValueError("this is no drawing of the layout program")
    return float(found[1]), float(found[2])


def lettered(drawing: str) -> str:
    """The drawing with families of the right width, and without what is no SVG color."""
    drawing = re.sub(r'font-family="[^"]*"', f'font-family="{FAMILIES}"', drawing)
    return drawing.replace('stroke="transparent"', 'stroke="none"')
