"""How a ladder does, exactly: the paper is walked for every set of causes, whoever chose it.

What a row shows is drawn from the model. A repair that does not help costs its minutes, is proven not to help, and the
reader goes on below. Nothing here knows how the ladder was planned.
"""

from dataclasses import dataclass, field

import numpy as np

from comeback.engine.belief.network import Vector
from comeback.engine.charts.cars import Cars
from comeback.engine.charts.ladder import END, Figures, Kind, Ladder, Row, Station, by_check
from comeback.engine.choosing.valuation import HANDLING, repair_minutes

Clean = tuple[Vector, Vector]
"""The cars on which only needed repairs were done, and the others."""
Place = tuple[int, bool, frozenset[str]]
"""Station, whether the engine has to stay off, the checks already made."""


@dataclass
class _Count:
    """What has been counted so far; `waiting`: cars on their way to a station."""

    cars: Cars
    ladder: Ladder
    waiting: dict[Place, Clean] = field(default_factory=dict)
    right: float = 0.0
    clean: float = 0.0
    minutes: float = 0.0

    def send(self, place: Place, mass: Clean) -> None:
        """More cars go to a place."""
        if mass[0].sum() + mass[1].sum() <= 0:
            return
        if place[0] == END:
            self.right += float((mass[0] + mass[1])[self.cars.beyond].sum())
            self.clean += float(mass[0][self.cars.beyond].sum())
            return
        there = self.waiting.get(place)
        self.waiting[place] = mass if there is None else (there[0] + mass[0], there[1] + mass[1])

    def visit(self, station: Station, place: Place, mass: Clean) -> None:
        """All cars that wait at a station go through it."""
        _, off, done = place
        if off and station.runs_engine:
            self.send((station.then, off, done), mass)
            return
        known = self.cars.knowledge.checks
        own = sum(HANDLING + known[check].minutes for check in station.checks if station.kind is not Kind.CODES)
        self.minutes += _total(mass) * max(0.0, station.minutes - own)
        halted = (np.zeros_like(mass[0]), np.zeros_like(mass[1]))
        made = set(done)
        for rows in by_check(station.rows):
            check = rows[0].check
            if check and check in done:
                continue
            if check and station.kind is not Kind.CODES:
                self.minutes += (_total(mass) + _total(halted)) * (HANDLING + known[check].minutes)
            made.add(check)
            mass, stopped = self._rows(station, rows, mass, off, frozenset(made))
            halted, _ = self._rows(station, rows, halted, True, frozenset(made))
            halted = _plus(halted, stopped)
        self.send((station.then, off, frozenset(made)), mass)
        self.send((station.then, True, frozenset(made)), halted)

    def _rows(
        self, station: Station, rows: list[Row], mass: Clean, off: bool, made: frozenset[str]
    ) -> tuple[Clean, Clean]:
        """The cars that go on below, and those that do so with the engine off from here."""
        on: list[Clean] = []
        stopped: list[Clean] = []
        rest = mass
        for row in rows:
            chance = self.cars.chance(row.check, row.results) if row.check else np.ones(mass[0].size)
            hit = (mass[0] * chance, mass[1] * chance)
            rest = (rest[0] - hit[0], rest[1] - hit[1])
            left = self._repaired(station, row, hit)
            if row.to is not None:
                self.send((row.to, off or row.stays_off, made), left)
            else:
                (stopped if row.stays_off and not off else on).append(left)
        return _plus(rest, *on), _plus((np.zeros_like(rest[0]), np.zeros_like(rest[1])), *stopped)

    def _repaired(self, station: Station, row: Row, hit: Clean) -> Clean:
        for name in row.repairs:
            repair = self.cars.knowledge.repairs[name]
            self.minutes += _total(hit) * repair_minutes(self.cars.knowledge, repair, station.set_up)
            fixed, left, unneeded = self.cars.treated(hit[0], name)
            late, others, again = self.cars.treated(hit[1], name)
            self.right += fixed + late
            self.clean += fixed
            hit = (left, others + unneeded + again)
        return hit


def measure(ladder: Ladder, cars: Cars, stopped: float = 0.0) -> Figures:
    """The figures of a ladder over these cars; `stopped`: share that shows a danger sign before station 1."""
    count = _Count(cars, ladder)
    rank = {number: k for k, number in enumerate(_in_order(ladder))}
    first = ladder.stations[0].number if ladder.stations else END
    count.send((first, False, frozenset()), (cars.arriving.copy(), np.zeros_like(cars.arriving)))
    while count.waiting:
        place = min(count.waiting, key=lambda place: (rank[place[0]], place[1], sorted(place[2])))
        count.visit(ladder.station(place[0]), place, count.waiting.pop(place))
    return Figures(min(1.0, count.right), min(1.0, count.clean), count.minutes, stopped)


def _in_order(ladder: Ladder) -> list[int]:
    """Numbers of the stations so that each comes after all that lead to it."""
    out: list[int] = []
    for station in ladder.trunk:
        out.append(station.number)
        out += dict.fromkeys(row.to for row in station.rows if row.to)
    return out


def _plus(*masses: Clean) -> Clean:
    return np.sum([mass[0] for mass in masses], axis=0), np.sum([mass[1] for mass in masses], axis=0)


def _total(mass: Clean) -> float:
    return float(mass[0].sum() + mass[1].sum())
