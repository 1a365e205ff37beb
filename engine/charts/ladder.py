"""A printed chart as data: a ladder of numbered stations for one complaint after one service.

Top to bottom is the way while everything is as it should be; a row says what was found instead, and what to do.
The sheet, the text version, the flowchart and the tap-through page all show this one ladder with these numbers.
Everything here is an id of the knowledge or a number; `diagrams` puts it into words.

How a reader follows it: begin with station 1. Make the checks of its rows from the top (rows of one check stand
together; the check is made once). A row fits if its check shows one of its `results`; then do its repairs, each
proven before the next one. What the proof shows fixed is closed; otherwise go on with the next row. After the last
row go on at `Station.then`, `END` being the end of the ladder: nothing found, hand over. A row with `to` leads to
another station instead. At a station that holds a code table, the topmost code that is stored leads to its station.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from comeback.kb.vocabulary import Audience, Disposition

END = 0
"""The number that stands for the end of the ladder."""


class Kind(StrEnum):
    """What a station is."""

    LOOK = "look"  # rows are looked at from the top
    CODES = "codes"  # the stored trouble codes are read; each leads to a station of the code table
    BRANCH = "branch"  # reached from the code table only
    ASK = "ask"  # phone: a question; what is answered ends in advice, or leads on


@dataclass(frozen=True)
class Row:
    """What may be found, and what to do then.

    `check`: what is looked at; empty if no look tells, then the repair is done and proven. `results`: ids of the
    results with which the row fits. `repairs`: ids, in order. `to`: the station to go to instead. `advice`: by
    phone, what the caller is told. `stays_off`: what was seen keeps the engine off; if the repairs of the row do not
    end it, only stations that do not run the engine may follow.
    """

    check: str = ""
    results: tuple[str, ...] = ()
    repairs: tuple[str, ...] = ()
    to: int | None = None
    advice: Disposition | None = None
    stays_off: bool = False


@dataclass(frozen=True)
class Station:
    """One state of the car with the rows that are looked at in it.

    `number`: as printed, from 1. `set_up`: ids of the states that its rows need, those that stand already included.
    `minutes`: to get into that state and make every check, without repairs. `then`: the station to go on with if
    nothing fits; `END` at the end. `entry`: of a branch, the (check, result) pairs that lead to it.
    """

    number: int
    kind: Kind
    rows: tuple[Row, ...]
    then: int
    set_up: tuple[str, ...] = ()
    runs_engine: bool = False
    drives: bool = False
    minutes: float = 0.0
    entry: tuple[tuple[str, str], ...] = ()

    @property
    def checks(self) -> tuple[str, ...]:
        """The checks of its rows, each once, in order."""
        return tuple(dict.fromkeys(row.check for row in self.rows if row.check))


@dataclass(frozen=True)
class Sign:
    """A danger sign of the strip on top."""

    check: str
    results: tuple[str, ...]


@dataclass(frozen=True)
class Figures:
    """What the measure says of a ladder, of all cars that come with the complaint and show no danger sign.

    `right`: share that ends fixed, or at the end with nothing wrong that could be fixed here (by phone: advice not
    too mild).
    `clean`: the part of it with no repair that was not needed (by phone: nor too strict). `minutes`: expected, the
    hand-over not counted. `stopped`: share of all cars that show a danger sign of the strip first.
    """

    right: float
    clean: float
    minutes: float
    stopped: float


@dataclass(frozen=True)
class Ladder:
    """One chart. `stations` in the order they are printed; the code table (branches of a code) comes last.

    `advice`: by phone, what the caller is told at the end. `knowledge`: its version.
    """

    service: str
    complaint: str
    audience: Audience
    knowledge: str
    dangers: tuple[Sign, ...]
    stations: tuple[Station, ...]
    figures: Figures
    advice: Disposition | None = None

    def station(self, number: int) -> Station:
        """The station with this number."""
        return self.stations[number - 1]

    @property
    def trunk(self) -> tuple[Station, ...]:
        """The stations that are passed while everything is as it should be, in that order."""
        way, number = list[Station](), self.stations[0].number if self.stations else END
        while number != END:
            way.append(self.station(number))
            number = way[-1].then
        return tuple(way)

    @property
    def codes(self) -> tuple[Station, ...]:
        """The code table: the branches that stored codes lead to, in the order in which they are tried."""
        table = next((one for one in self.stations if one.kind is Kind.CODES), None)
        targets = dict.fromkeys(row.to for row in table.rows) if table else {}
        return tuple(self.station(number) for number in targets if number)


def by_check(rows: Iterable[Row]) -> list[list[Row]]:
    """Rows of one check together, since it is made once; a plain repair stands alone."""
    out: list[list[Row]] = []
    for row in rows:
        if out and row.check and out[-1][0].check == row.check:
            out[-1].append(row)
        else:
            out.append([row])
    return out
