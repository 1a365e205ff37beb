"""The ladder for the phone: questions to read aloud, each answer ending in what the caller is told, or leading on.

Danger signs come first. Then comes what lowers the expected loss of the advice most; what each answer ends in is the
ruling that the guided call would give after the same answers.
"""

from dataclasses import replace

import numpy as np

from comeback.engine.belief.network import Vector, Vehicle
from comeback.engine.charts.cars import Cars, cars_of
from comeback.engine.charts.ladder import END, Figures, Kind, Ladder, Row, Station, by_check
from comeback.engine.charts.strip import start
from comeback.engine.choosing.valuation import HANDLING
from comeback.engine.walk.disposition import loss_table
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience, Disposition

MOST_QUESTIONS = 6
"""Questions after the danger signs: a call takes four minutes; judged."""
LEAST_SAVED = 0.3
"""Minutes of expected loss that a question must save for each minute that it takes; judged."""


def phone_ladder(knowledge: KnowledgeBase, service: str, complaint: str, vehicle: Vehicle = ()) -> Ladder:
    """The ladder for the service writer. Raises what `posterior` raises."""
    walk = start(knowledge, service, complaint, Audience.PHONE, vehicle)
    every = cars_of(walk.view)
    asked = [name for name in walk.view.signs if name in every.checks]
    signs = [row for name in asked for row in _rows(walk, name, every=False)]
    for name in asked:
        walk = _expected(walk, name)
    questions, walk = _questions(walk)
    advice = walk.view.ruling.advice
    kept = [[row for row in rows if row.advice != advice] for rows in questions]
    stations = _stations(knowledge, [rows for rows in (signs, *kept) if rows])
    ladder = Ladder(service, complaint, Audience.PHONE, knowledge.version, (), stations, Figures(0, 0, 0, 0), advice)
    return replace(ladder, figures=advised(ladder, every))


def _expected(walk: Walk, check: str) -> Walk:
    return walk.imagine(walk.answers({check: walk.knowledge.checks[check].expected}, "", ""))


def _rows(walk: Walk, check: str, every: bool) -> list[Row]:
    """What each abnormal answer (`every` one or only danger) ends in, the gravest first; equal ends share a row."""
    entry = walk.knowledge.checks[check]
    ends: dict[Disposition, tuple[str, ...]] = {}
    for result in entry.names[1:]:
        if every or result in entry.red_flag:
            advice = walk.imagine(walk.answers({check: result}, "", "")).view.ruling.advice
            ends[advice] = (*ends.get(advice, ()), result)
    return [Row(check, ends[advice], advice=advice) for advice in sorted(ends, reverse=True)]


def _questions(walk: Walk) -> tuple[list[list[Row]], Walk]:
    """The rows of each question after the danger signs, and the walk once all came out as expected.

    An answer ends the call, so a danger sign that asks for a tow or worse comes before what lets the car drive.
    """
    begun, grave = walk, dict[str, bool]()
    while len(grave) < MOST_QUESTIONS:
        cars = cars_of(walk.view)
        worth = {name: _worth(cars, name) for name in cars.checks}
        best = max(worth, key=lambda name: worth[name], default=None)
        if best is None or worth[best] < LEAST_SAVED:
            break
        grave[best] = max(walk.knowledge.checks[best].red_flag.values(), default=Disposition.WATCH) >= Disposition.TOW
        walk = _expected(walk, best)
    out: list[list[Row]] = []
    for name in sorted(grave, key=lambda name: not grave[name]):
        out.append(_rows(begun, name, every=True))
        begun = _expected(begun, name)
    return out, walk


def needed(cars: Cars) -> np.ndarray:
    """(N,): the advice that each state needs; a car without any of the causes still has to be seen."""
    drive = np.array([cars.knowledge.causes[name].drive for name in cars.columns], int)
    there = np.where(cars.states, drive, -1).max(axis=1, initial=-1)
    return np.where(there < 0, int(Disposition.BOOK), there)


def _worth(cars: Cars, check: str) -> float:
    """Expected loss that the answer saves, for each minute of asking."""
    losses = loss_table(cars.knowledge)[:, needed(cars)]  # (advised, N)
    told = cars.arriving[:, None] * cars.shown.of(check)
    saved = float((losses @ cars.arriving).min()) - float((losses @ told).min(axis=0).sum())
    return saved / (HANDLING + cars.knowledge.checks[check].minutes)


def _stations(knowledge: KnowledgeBase, groups: list[list[Row]]) -> tuple[Station, ...]:
    out = []
    for number, rows in enumerate(groups, 1):
        minutes = sum(HANDLING + knowledge.checks[name].minutes for name in {row.check for row in rows})
        then = number + 1 if number < len(groups) else END
        out.append(Station(number, Kind.ASK, tuple(rows), then, minutes=minutes))
    return tuple(out)


def advised(ladder: Ladder, cars: Cars) -> Figures:
    """How the ladder does: callers told no less than their car needs, told just that, and the minutes of the call."""
    want, left = needed(cars), cars.arriving.copy()
    told: list[tuple[Vector, Disposition | None]] = []
    minutes = 0.0
    for station in ladder.trunk:
        minutes += station.minutes * float(left.sum())
        for rows in by_check(station.rows):
            hits = [(left * cars.chance(row.check, row.results), row.advice) for row in rows]
            left = left - sum(hit for hit, _ in hits)
            told += hits
    told.append((np.maximum(left, 0.0), ladder.advice))
    given = [(mass, Disposition.TOW if advice is None else advice) for mass, advice in told]
    right = sum(float(mass[want <= advice].sum()) for mass, advice in given)
    clean = sum(float(mass[want == advice].sum()) for mass, advice in given)
    return Figures(min(1.0, right), min(1.0, clean), minutes, 0.0)
