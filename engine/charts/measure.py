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

Place = tuple[int, bool, frozenset[str]]
"""Station, whether the engine has to stay off, the checks already made."""


@dataclass
class _Count:
    """What has been counted so far; `waiting`: cars on their way to a station.

    A mass here is (2, N): cars on which only needed repairs were done, and the others.
    """

    cars: Cars
    ladder: Ladder
    waiting: dict[Place, Vector] = field(default_factory=dict)
    right: float = 0.0
    clean: float = 0.0
    minutes: float = 0.0

    def send(self, place: Place, mass: Vector) -> None:
        """More cars go to a place."""
        if place[0] == END:
            clean, others = mass[:, self.cars.beyond].sum(axis=1).tolist()
            self.right += clean + others
            self.clean += clean
        elif mass.sum() > 0:
            self.waiting[place] = mass + self.waiting.get(place, 0.0)

    def visit(self, station: Station, place: Place, mass: Vector) -> None:
        """All cars that wait at a station go through it."""
        _, off, done = place
        if off and station.runs_engine:
            self.send((station.then, off, done), mass)
            return
        known, codes = self.cars.knowledge.checks, station.kind is Kind.CODES
        own = 0.0 if codes else sum(HANDLING + known[check].minutes for check in station.checks)
        self.minutes += float(mass.sum()) * max(0.0, station.minutes - own)
        halted, made = np.zeros_like(mass), done
        without = mass * (
            1 / self.cars.coded - 1 if codes else 0
        )  # cars are lit and coded, the table's chances are of any
        mass = mass + without
        for rows in by_check(station.rows):
            check = rows[0].check
            if check and check in done:
                continue
            if check and not codes:
                self.minutes += float(mass.sum() + halted.sum()) * (HANDLING + known[check].minutes)
            made |= {check}
            mass, stopped = self._rows(station, rows, mass, off, made)
            halted = self._rows(station, rows, halted, True, made)[0] + stopped
        self.send((station.then, off, made), np.maximum(mass - without, 0.0))
        self.send((station.then, True, made), halted)

    def _rows(
        self, station: Station, rows: list[Row], mass: Vector, off: bool, made: frozenset[str]
    ) -> tuple[Vector, Vector]:
        """The cars that go on below, and those that do so with the engine off from here."""
        on, stopped = mass.copy(), np.zeros_like(mass)
        for row in rows:
            hit = mass * self.cars.chance(row.check, row.results) if row.check else mass
            on -= hit
            left = self._repaired(station, row, hit)
            if row.to is not None:
                self.send((row.to, off or row.stays_off, made), left)
            elif row.stays_off and not off:
                stopped += left
            else:
                on += left
        return on, stopped

    def _repaired(self, station: Station, row: Row, hit: Vector) -> Vector:
        for name in row.repairs:
            repair = self.cars.knowledge.repairs[name]
            self.minutes += float(hit.sum()) * repair_minutes(self.cars.knowledge, repair, station.set_up)
            fixed, left, unneeded = self.cars.treated(hit[0], name)
            late, others, again = self.cars.treated(hit[1], name)
            self.right += fixed + late
            self.clean += fixed
            hit = np.array([left, others + unneeded + again])
        return hit


def measure(ladder: Ladder, cars: Cars, stopped: float = 0.0) -> Figures:
    """The figures of a ladder over these cars; `stopped`: share that shows a danger sign before station 1."""
    count = _Count(cars, ladder)
    order: list[int | None] = []  # each station after all that lead to it
    for station in ladder.trunk:
        order += [station.number, *dict.fromkeys(row.to for row in station.rows if row.to)]
    first = ladder.stations[0].number if ladder.stations else END
    count.send((first, False, frozenset()), np.array([cars.arriving, np.zeros_like(cars.arriving)]))
    while count.waiting:
        place = min(count.waiting, key=lambda place: (order.index(place[0]), place[1], sorted(place[2])))
        count.visit(ladder.station(place[0]), place, count.waiting.pop(place))
    return Figures(min(1.0, count.right), min(1.0, count.clean), count.minutes, stopped)
