"""The plot of a rehearsal: share of cars found and fixed within so many minutes, one curve a way of working.

Curves differ in dash as well as in colour, and each is named with its share below, so that a grey print
and a reader who cannot tell colours apart lose nothing.
"""

from collections.abc import Sequence
from html import escape

from comeback.diagrams.drawing.svg import FAMILIES
from comeback.engine.rehearsal.figures import Figures

WIDTH, HEIGHT = 640, 400
LEFT, RIGHT, TOP, BOTTOM = 60, 24, 64, 96
STROKES = (("#003f5c", "", 3.0), ("#b3541e", "8 4", 2.5), ("#5a5a5a", "2 4", 2.5))
"""Colour, dash and width of each curve, all darker than 4.5 to 1 on white."""


def rehearsal_plot(figures: Figures, title: str, note: str) -> str:
    """An SVG picture of WIDTH by HEIGHT points, with a title and a description for readers who cannot see it."""
    end = figures.curve_minutes[-1]
    parts = [_head(title, _described(figures)), _text(LEFT, 26, title, 15, weight="bold"), _text(LEFT, 46, note, 11)]
    parts += _axes(end)
    for number, (way, curve) in enumerate(figures.curves.items()):
        colour, dash, width = STROKES[number % len(STROKES)]
        points = " ".join(
            f"{_x(m, end):.1f},{_y(share):.1f}" for m, share in zip(figures.curve_minutes, curve, strict=True)
        )
        style = f'fill="none" stroke="{colour}" stroke-width="{width}"' + (
            f' stroke-dasharray="{dash}"' if dash else ""
        )
        parts.append(f'<polyline points="{points}" {style}/>')
        parts += _legend(number, way, curve[-1], style)
    return "\n".join([*parts, "</svg>\n"])


def _described(figures: Figures) -> str:
    ends = "; ".join(f"{way}: {100 * curve[-1]:.0f} %" for way, curve in figures.curves.items())
    return f"Share of {figures.walks} cars found and fixed within {figures.curve_minutes[-1]:.0f} minutes. {ends}."


def _head(title: str, description: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}pt" height="{HEIGHT}pt" viewBox="0 0 {WIDTH} {HEIGHT}" '
        f'role="img" aria-labelledby="plot-title plot-text" font-family="{FAMILIES}">\n'
        f'<title id="plot-title">{escape(title)}</title>\n<desc id="plot-text">{escape(description)}</desc>\n'
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="white"/>'
    )


def _axes(end: float) -> list[str]:
    parts = []
    for percent in range(0, 101, 20):
        y = _y(percent / 100)
        parts.append(f'<line x1="{LEFT}" y1="{y:.1f}" x2="{WIDTH - RIGHT}" y2="{y:.1f}" stroke="#cccccc"/>')
        parts.append(_text(LEFT - 8, y + 4, f"{percent} %", 11, anchor="end"))
    for minutes in _ticks(end):
        x = _x(minutes, end)
        parts.append(f'<line x1="{x:.1f}" y1="{_y(0):.1f}" x2="{x:.1f}" y2="{_y(0) + 5:.1f}" stroke="black"/>')
        parts.append(_text(x, _y(0) + 18, f"{minutes:g}", 11, anchor="middle"))
    parts.append(_text((LEFT + WIDTH - RIGHT) / 2, _y(0) + 34, "minutes in the bay, parts at the shop's rate", 11,
                       anchor="middle"))  # fmt: skip
    return parts


def _ticks(end: float) -> Sequence[float]:
    step = next(s for s in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10**9) if end / s <= 10)
    return [k * step for k in range(int(end / step) + 1)]


def _legend(number: int, way: str, last: float, style: str) -> list[str]:
    x, y = LEFT + number * (WIDTH - LEFT - RIGHT) / 3, HEIGHT - 22
    return [
        f'<line x1="{x:.1f}" y1="{y - 4}" x2="{x + 28:.1f}" y2="{y - 4}" {style}/>',
        _text(x + 34, y, f"{way}: {100 * last:.0f} %", 9),
    ]


def _text(x: float, y: float, text: str, size: int, anchor: str = "start", weight: str = "normal") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" text-anchor="{anchor}" font-weight="{weight}">'
        f"{escape(text)}</text>"
    )


def _x(minutes: float, end: float) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * minutes / end


def _y(share: float) -> float:
    return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * share
