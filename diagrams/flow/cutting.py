"""Where to cut the stops into pages: fewest connectors first, then fewest pages, never more than fits.

Step numbers run in reading order, so a page is a run of numbers and a cut falls between sub-trees.
The best cuts of all are found by shortest path over the possible pages.
"""

import math
from collections.abc import Callable, Sequence

from comeback.diagrams.flow.flow_steps import Stop

BOXES, TARGET = 18, 14
"""Most boxes on a page, and how many are aimed at."""
PAGE_COST, CONNECTOR_COST, CROWD_COST = 4.0, 1.0, 0.4

Extent = Callable[[int, int], tuple[int, float]]
"""Boxes and height of the stops from the first to before the second index on one page."""


def cut(line: Sequence[Stop], extent: Extent, room: Callable[[int], float]) -> list[tuple[int, int]]:
    """Pages as index ranges. `room(first)` is the height for a page that begins with stop `first`."""
    best: list[tuple[float, int]] = [(0.0, 0)]
    for end in range(1, len(line) + 1):
        options = []
        for start in range(end - 1, -1, -1):
            boxes, height = extent(start, end)
            if (boxes > BOXES or height > room(start)) and start < end - 1:
                break
            options.append((best[start][0] + _cost(line, start, end, boxes), start))
        best.append(min(options, default=(math.inf, end - 1)))
    return _back(best)


def _back(best: Sequence[tuple[float, int]]) -> list[tuple[int, int]]:
    pages, end = [], len(best) - 1
    while end > 0:
        start = best[end][1]
        pages.append((start, end))
        end = start
    return pages[::-1]


def _cost(line: Sequence[Stop], start: int, end: int, boxes: int) -> float:
    here = {stop.number for stop in line[start:end]}
    everywhere = {stop.number for stop in line}
    targets = {way.target for stop in line[start:end] for way in stop.box.exits}
    return PAGE_COST + CONNECTOR_COST * len((targets & everywhere) - here) + CROWD_COST * max(0, boxes - TARGET)
