"""The measure of a ladder against plain enumeration: every set of causes, every result, every cure, one by one."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from comeback.engine.belief.evidence import CODELESS
from comeback.engine.charts.cars import cars_of
from comeback.engine.charts.ladder import END, Figures, Kind, Ladder, Row, Station
from comeback.engine.charts.measure import measure
from comeback.engine.charts.phone import advised, phone_ladder
from comeback.engine.charts.planner import bay_ladder
from comeback.engine.charts.strip import start, strip, without_signs
from comeback.engine.choosing.valuation import HANDLING, repair_minutes
from comeback.kb.vocabulary import Audience, Disposition

NONE = Figures(0, 0, 0, 0)


@pytest.fixture(scope="module")
def cars(small):
    return cars_of(start(small, "lamp-change", "dark", Audience.BAY).view)


def ladder(*stations):
    return Ladder("lamp-change", "dark", Audience.BAY, "", (), stations, NONE)


def station(number, rows, then=END, **more):
    return Station(number, more.pop("kind", Kind.LOOK), tuple(rows), then, **more)


class Oracle:
    """Walks paper for one car after the other, with every chance written out."""

    def __init__(self, cars, paper):
        self.cars, self.paper, self.known = cars, paper, cars.knowledge
        self.right = self.clean = self.minutes = 0.0

    def walk(self):
        for k, weight in enumerate(self.cars.arriving):
            names = frozenset(name for name, column in self.cars.columns.items() if self.cars.states[k, column])
            self.at(1, names, True, float(weight), frozenset(), False)
        return self.right, self.clean, self.minutes

    def state(self, causes):
        there = [name in causes for name in self.cars.columns]
        return next(k for k, row in enumerate(self.cars.states) if list(row) == there)

    def at(self, number, causes, clean, weight, done, off):
        if weight < 1e-15:
            return
        if number == END:
            if not causes:
                self.right += weight
                self.clean += weight * clean
            return
        here = self.paper.station(number)
        if off and here.runs_engine:
            return self.at(here.then, causes, clean, weight, done, off)
        own = sum(HANDLING + self.known.checks[c].minutes for c in dict.fromkeys(r.check for r in here.rows if r.check))
        self.minutes += weight * max(0.0, here.minutes - own)
        self.rows(here, 0, causes, clean, weight, done, off)

    def rows(self, here, k, causes, clean, weight, done, off):
        if weight < 1e-15:
            return
        if k == len(here.rows):
            return self.at(here.then, causes, clean, weight, done, off)
        row = here.rows[k]
        if not row.check:
            return self.repair(here, k, k + 1, row, 0, causes, clean, weight, done, off)
        end = k
        while end < len(here.rows) and here.rows[end].check == row.check:
            end += 1
        if row.check in done:
            return self.rows(here, end, causes, clean, weight, done, off)
        self.minutes += weight * (HANDLING + self.known.checks[row.check].minutes)
        for result, chance in zip(
            self.known.checks[row.check].names, self.cars.shown.of(row.check)[self.state(causes)], strict=True
        ):
            fitting = [n for n in range(k, end) if result in here.rows[n].results]
            there = done | {row.check}
            if fitting:
                found = here.rows[fitting[0]]
                self.repair(here, k, end, found, 0, causes, clean, weight * chance, there, off)
            else:
                self.rows(here, end, causes, clean, weight * chance, there, off)

    def repair(self, here, k, end, row, n, causes, clean, weight, done, off):
        if weight < 1e-15:
            return
        if n == len(row.repairs):
            off = off or row.stays_off
            if row.to is not None:
                return self.at(row.to, causes, clean, weight, done, off)
            return self.rows(here, end, causes, clean, weight, done, off)
        entry = self.known.repairs[row.repairs[n]]
        self.minutes += weight * repair_minutes(self.known, entry, here.set_up)
        meant = [c for c in causes if c in entry.removes]
        for gone in product((True, False), repeat=len(meant)):
            chance, left = weight, set(causes)
            for cause, cured in zip(meant, gone, strict=True):
                chance *= entry.removes[cause] if cured else 1 - entry.removes[cause]
                left -= {cause} if cured else set()
            if causes and not left:
                self.right += chance
                self.clean += chance * clean
            else:
                self.repair(here, k, end, row, n + 1, frozenset(left), clean and bool(meant), chance, done, off)


SEAT = Row("lamp-turns", ("turns",), ("screw-in-lamp",))
FUSE = Row("volts", ("none",), ("replace-fuse",))
LOW = Row("volts", ("low",), ("screw-in-lamp", "replace-fuse"))
PLAIN = Row("", (), ("replace-fuse",))


@pytest.mark.parametrize(
    "paper",
    [
        ladder(station(1, [SEAT], minutes=1.5)),
        ladder(station(1, [SEAT, FUSE, LOW, PLAIN], minutes=9)),
        ladder(station(1, [SEAT], 2, minutes=1.5), station(2, [LOW, FUSE], 3, set_up=("ladder",)), station(3, [PLAIN])),
        ladder(  # exits to stations of their own, a check made twice on the way
            station(1, [Row("volts", ("none",), to=2), Row("volts", ("low",), to=3)], 4),
            station(2, [PLAIN], 4, kind=Kind.BRANCH),
            station(3, [SEAT], 4, kind=Kind.BRANCH),
            station(4, [SEAT, FUSE]),
        ),
        ladder(  # what was seen keeps the engine off: the second station is passed over
            station(1, [Row("lamp-turns", ("turns",), ("replace-fuse",), stays_off=True)], 2),
            station(2, [FUSE], 3, runs_engine=True),
            station(3, [Row("", (), ("screw-in-lamp",))]),
        ),
    ],
    ids=["one row", "many rows", "three stations", "exits", "engine kept off"],
)
def test_the_measure_equals_plain_enumeration(cars, paper):
    found = measure(paper, cars)
    assert (found.right, found.clean, found.minutes) == pytest.approx(Oracle(cars, paper).walk(), abs=1e-9)


def test_the_planned_ladder_is_measured_right(small):
    begun = start(small, "lamp-change", "dark", Audience.BAY)
    signs, _ = strip(begun.view)
    cars = cars_of(without_signs(begun, signs))
    planned = bay_ladder(small, "lamp-change", "dark")
    found = planned.figures
    assert (found.right, found.clean, found.minutes) == pytest.approx(Oracle(cars, planned).walk(), abs=1e-9)
    assert found.right > 0.9


def test_a_lit_check_engine_light_leads_into_the_code_table(knowledge):
    """A car passes the table by only if its light is on without a code; of all such cars CODELESS are left."""
    cars = cars_of(start(knowledge, "intake-cleaning", "engine-light", Audience.BAY).view)
    lists = [check for check in knowledge.code_lists if check.id in cars.checks]
    rows = [Row(check.id, (result,), to=2) for check in lists for result in check.names[1:]]
    none = np.prod([cars.chance(check.id, (check.expected,)) for check in lists], axis=0)
    past = CODELESS * none / (1 - none + CODELESS * none)
    paper = ladder(station(1, rows, kind=Kind.CODES), station(2, [], kind=Kind.BRANCH, minutes=1.0))
    assert measure(paper, cars).minutes == pytest.approx(float(cars.arriving @ (1 - past)), abs=1e-9)


def test_no_repair_of_a_car_with_nothing_wrong_counts_as_needed(cars):
    found = measure(ladder(station(1, [PLAIN])), cars)
    assert found.clean < found.right


def test_the_figures_of_a_call_by_hand(small):
    """Nobody with a loose lamp (book) or a blown fuse (tow) is told less than that where the end says tow."""
    paper = phone_ladder(small, "lamp-change", "dark")
    cars = cars_of(start(small, "lamp-change", "dark", Audience.PHONE).view)
    found = advised(replace(paper, stations=(), advice=Disposition.TOW), cars)
    fuse = sum(float(w) for w, row in zip(cars.arriving, cars.states, strict=True) if row[cars.columns["fuse-out"]])
    assert found.right == pytest.approx(1.0)
    assert found.clean == pytest.approx(fuse)
    assert advised(replace(paper, stations=(), advice=Disposition.BOOK), cars).right == pytest.approx(1 - fuse)
