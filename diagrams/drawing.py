"""A drawing as SVG, placed by `graphviz-pure`, the layout program that comes with this one."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

SECONDS = 30.0
"""Most time for one page; it takes a tenth of a second."""
FONT = "Helvetica"
"""The font of DOT texts: the layout program knows its widths."""
FAMILIES = "Liberation Sans, Arimo, Helvetica, Arial, sans-serif"
"""Families whose letters are as wide as those that were measured, then whatever there is."""
REMEDY = "Install it again with `pip install graphviz-pure`. The text version does not need it."


class DrawingError(OSError):
    """A chart could not be drawn; the message says why and what to do."""


def draw(text: str, seconds: float = SECONDS) -> str:
    """The DOT text drawn as SVG. Raises DrawingError."""
    name = "graphviz-pure"
    program = shutil.which(name, path=str(Path(sys.executable).parent)) or shutil.which(name)
    if program is None:
        raise DrawingError(f"The program that draws charts, {name}, is missing. {REMEDY}")
    try:
        done = subprocess.run(
            [program, "-Kdot", "-Tsvg"], input=text.encode(), capture_output=True, timeout=seconds, check=True
        )
    except subprocess.CalledProcessError as error:
        told = error.stderr.decode(errors="replace").strip().splitlines()
        raise DrawingError(f"{program} failed: {' '.join(told[-1:])} {REMEDY}") from error
    except (subprocess.TimeoutExpired, OSError) as error:
        raise DrawingError(f"{program} did not finish: {error}. {REMEDY}") from error
    return re.sub(r'font-family="[^"]*"', f'font-family="{FAMILIES}"', done.stdout.decode())


def size_of(drawing: str) -> tuple[float, float]:
    """Width and height of a drawing in points."""
    width, height = re.findall(r'\b(?:width|height)="([\d.]+)pt"', drawing)[:2]
    return float(width), float(height)
