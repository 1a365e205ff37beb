"""Predicted against found as a small SVG picture: points with bars of 95 %, and the line where both agree."""

from collections.abc import Iterator
from html import escape

from comeback.engine.learning.calibration import Bin, Calibration

SIDE, LEFT, TOP = 300.0, 70.0, 50.0
WIDTH, HEIGHT = LEFT + SIDE + 30, TOP + SIDE + 70
STYLE = 'font-family="Liberation Sans, Arimo, Helvetica, Arial, sans-serif"'


def calibration_picture(calibration: Calibration, title: str) -> str:
    """The whole SVG document; everything in it is also said in its description."""
    said = "; ".join(
        f"predicted {100 * one.predicted:.0f} %, found {100 * one.share:.0f} % of {one.count}"
        for one in calibration.bins
    )
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:g}" height="{HEIGHT:g}" '
        f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" aria-labelledby="title" aria-describedby="text" {STYLE}>',
        f'<title id="title">{escape(title)}</title>',
        f'<desc id="text">{escape(said or "no predictions")}</desc>',
        f'<rect width="{WIDTH:g}" height="{HEIGHT:g}" fill="white"/>',
        _text(LEFT, 26, title, 14, "start"),
        *_axes(),
        *(part for one in calibration.bins for part in _point(one)),
    ]
    return "\n".join([*lines, "</svg>", ""])


def _x(share: float) -> float:
    return LEFT + SIDE * share


def _y(share: float) -> float:
    return TOP + SIDE * (1 - share)


def _axes() -> Iterator[str]:
    yield f'<rect x="{LEFT:g}" y="{TOP:g}" width="{SIDE:g}" height="{SIDE:g}" fill="none" stroke="black"/>'
    for percent in range(0, 101, 20):
        share = percent / 100
        yield _line(_x(share), _y(0), _x(share), _y(0) + 5)
        yield _line(_x(0) - 5, _y(share), _x(0), _y(share))
        yield _text(_x(share), _y(0) + 20, f"{percent}", 11, "middle")
        yield _text(_x(0) - 9, _y(share) + 4, f"{percent}", 11, "end")
    yield _line(_x(0), _y(0), _x(1), _y(1), ' stroke-dasharray="5 4"')
    yield _text(_x(0.5), _y(0) + 42, "predicted, %", 12, "middle")
    middle = _y(0.5)
    yield f'<g transform="rotate(-90 24 {middle:g})">{_text(24, middle, "found, %", 12, "middle")}</g>'
    yield _text(_x(0.5), _y(0) + 60, "dashed: both agree; bars: 95 %; open points: their bar misses it", 10, "middle")


def _point(one: Bin) -> Iterator[str]:
    low, high = one.interval
    x, y = _x(one.predicted), _y(one.share)
    yield _line(x, _y(low), x, _y(high), ' stroke-width="2"')
    yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{"black" if one.fits else "white"}" stroke="black"/>'
    # beside the bar, on the side away from the frame
    end, shift = ("end", -7) if one.predicted > 0.85 else ("start", 7)
    yield _text(x + shift, y + 4, f"{one.count}", 9, end)


def _line(x1: float, y1: float, x2: float, y2: float, more: str = "") -> str:
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="black"{more}/>'


def _text(x: float, y: float, text: str, size: int, anchor: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" text-anchor="{anchor}">{escape(text)}</text>'
