"""The ladder for the phone: questions to read aloud, each answer ending in what the caller is told, or leading on.

Danger signs come first. Then comes what lowers the expected loss of the advice most; what each answer ends in is the
ruling that the guided call would give after the same answers.
"""

from collections.abc import Iterable
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
    begun = start(knowledge, service, complaint, Audience.PHONE, vehicle)
    every, known = cars_of(begun.view), knowledge.checks
    asked = [name for name in begun.view.signs if name in every.checks and begun.view.can_tell(known[name])]
    questions = _questions(_all_right(begun, asked))
    advice = _advice(_all_right(begun, (*asked, *questions)))
    alone = start(knowledge, service, "", Audience.PHONE, vehicle)
    stations = [[row for name in asked for row in _rows(begun, alone, name, advice, signs=True)]]
    for k, name in enumerate(questions):
        rows = _rows(_all_right(begun, (*asked, *questions[:k])), alone, name, advice)
        stations.append([row for row in rows if row.advice != advice])
    made = _stations(knowledge, [rows for rows in stations if rows])
    ladder = Ladder(service, complaint, Audience.PHONE, knowledge.version, (), made, Figures(0, 0, 0, 0), advice)
    return replace(ladder, figures=advised(ladder, every))


def _all_right(walk: Walk, checks: Iterable[str]) -> Walk:
    """The walk once all of these came out as expected."""
    known = walk.knowledge.checks
    return walk.imagine(walk.answers({name: known[name].expected for name in checks}, "", ""))


def _advice(walk: Walk, remedied: bool = False) -> Disposition:
    """What the caller is told; a car that was `remedied` starts again."""
    return walk.view.ruling.advice if remedied else walk.view.advice


def _rows(walk: Walk, alone: Walk, check: str, end: Disposition, signs: bool = False) -> list[Row]:
    """What each abnormal answer (of `signs` each that is a danger) ends in, the gravest first; equal ends share a row.

    A danger sign, or what is a complaint of its own, asks for the same on every chart of the service: for what it asks
    `alone`, or for the end if that is graver.
    """
    ends: dict[Disposition, tuple[str, ...]] = {}
    entry = walk.knowledge.checks[check]
    own = {
        result for one in walk.knowledge.complaints.values() for name, result in one.reports.items() if name == check
    }
    for result in entry.red_flag if signs else entry.names[1:]:
        by_itself = result in entry.red_flag or result in own
        asked = (alone if by_itself else walk).imagine(walk.answers({check: result}, "", ""))
        advice = max(end if by_itself else Disposition.WATCH, _advice(asked, entry.remedy is not None))
        ends[advice] = (*ends.get(advice, ()), result)
    return [Row(check, ends[advice], advice=advice) for advice in sorted(ends, reverse=True)]


def _questions(walk: Walk) -> list[str]:
    """What is asked after the danger signs.

    An answer ends the call, so a danger sign that asks for a tow or worse comes before what lets the car drive.
    """
    grave, known = dict[str, bool](), walk.knowledge.checks
    while len(grave) < MOST_QUESTIONS:
        cars = cars_of(walk.view)
        worth = {name: _worth(cars, name) for name in cars.checks if walk.view.can_tell(known[name])}
        best = max(worth, key=lambda name: worth[name], default=None)
        if best is None or worth[best] < LEAST_SAVED:
            break
        grave[best] = max(known[best].red_flag.values(), default=Disposition.WATCH) >= Disposition.TOW
        walk = _all_right(walk, (best,))
    return sorted(grave, key=lambda name: not grave[name])


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
