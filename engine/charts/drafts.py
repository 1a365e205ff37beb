"""A ladder on the drawing board: stations and branches that are being filled, cut to the paper, and numbered."""

from dataclasses import dataclass, field, replace

import numpy as np

from comeback.engine.belief.network import Vector
from comeback.engine.charts.cars import Cars
from comeback.engine.charts.ladder import END, Kind, Row, Station
from comeback.engine.charts.offers import Offer, State
from comeback.engine.choosing.valuation import HANDLING, set_up_minutes
from comeback.kb.schema import KnowledgeBase

LINES = 158.0
"""Lines of print on the pages of a ladder, cautions and headings aside: four pages, measured."""
OFTEN = 0.02
"""Codes that so many of the cars have stored stay in the table; judged."""
WORTH_A_LINE = 0.00025
"""Least share of all cars that a line of print must cure; judged."""
ROW, STATION, TABLE_ROW, TABLE_HEAD, PLAIN = 2.9, 4.4, 2.1, 2.7, 1.5
"""Lines of a row and of a station's bar, on the way down and in the code table, and of a plain repair; measured."""

Entry = tuple[tuple[str, str], ...]
"""(check, result) pairs that lead to a branch."""


@dataclass
class Draft:
    """A station that is being filled: what is offered in it, and the share of all cars that each cures.

    `entry`: of a branch, what leads to it. `branches`: of the code table. `behind`: the cars that come
    to a branch. `standing`: set-ups that stand already.
    """

    state: State
    standing: frozenset[str] = frozenset()
    kind: Kind = Kind.LOOK
    offers: list[Offer] = field(default_factory=list)
    gains: list[float] = field(default_factory=list)
    entry: Entry = ()
    branches: list["Draft"] = field(default_factory=list)
    behind: Vector = field(default_factory=lambda: np.zeros(0))

    def add(self, offer: Offer, gain: float) -> None:
        """One more thing to do here."""
        self.offers.append(offer)
        self.gains.append(gain)

    @property
    def rows(self) -> tuple[Row, ...]:
        """The rows in order; in a branch the engine is off before it runs."""
        if self.kind is Kind.CODES:
            return tuple(Row(check, (result,)) for branch in self.branches for check, result in branch.entry)
        branch = self.kind is Kind.BRANCH
        offers = sorted(self.offers, key=lambda one: (one.state[1], one.plain)) if branch else self.offers
        return tuple(row for offer in offers for row in offer.rows)

    def takes(self, state: State, plain: bool) -> bool:
        """True if what needs this state can be added here."""
        return self.kind is Kind.LOOK and self.state == state and self.offers[0].plain == plain

    def whole_state(self) -> State:
        """What its rows need: the state of the station, or of a branch that of all its offers."""
        if self.kind is not Kind.BRANCH:
            return self.state
        needs, running, driving = zip(*(offer.state for offer in self.offers), strict=True)
        return frozenset().union(*needs), any(running), any(driving)

    def minutes(self, knowledge: KnowledgeBase) -> float:
        """To get into the state and make every check."""
        entering = set_up_minutes(knowledge, self.whole_state()[0], self.standing)
        checks = dict.fromkeys(row.check for row in self.rows if row.check)
        if self.kind is Kind.CODES:
            panel = knowledge.checks[next(iter(checks))].panel
            return entering + HANDLING + (knowledge.panels[panel].minutes if panel else 0.0)
        return entering + sum(HANDLING + knowledge.checks[check].minutes for check in checks)


def fixed_by(cars: Cars, rows: tuple[Row, ...]) -> Vector:
    """(N,): about the chance that these rows cure all that a car has."""
    left = np.ones(len(cars.states))
    for row in rows:
        chance = cars.chance(row.check, row.results) if row.check else 1.0
        missed = np.prod([1 - cars.credit[cars.number[name]] for name in row.repairs], axis=0)
        left = left * (1 - chance * (1 - missed))
    return np.asarray(1 - left)


def cut(drafts: list[Draft]) -> list[Draft]:
    """The stations without what cures the fewest cars for the paper that it takes."""
    every = [*drafts, *(branch for draft in drafts for branch in draft.branches)]
    length = sum(_lines(draft) for draft in every)

    def worth(place: tuple[Draft, int]) -> float:
        draft, k = place
        return draft.gains[k] / _saved(draft, k)

    while True:  # the last row of codes that many of the cars have stored stays: it leads somewhere
        kept = [draft for draft in every if len(draft.offers) > 1 or float(draft.behind.sum()) < OFTEN]
        least = min(((draft, k) for draft in kept for k in range(len(draft.offers))), key=worth, default=None)
        if least is None or (length <= LINES and worth(least) >= WORTH_A_LINE):
            break
        draft, k = least
        length -= _saved(draft, k)
        del draft.offers[k], draft.gains[k]
    for draft in drafts:
        draft.branches = [branch for branch in draft.branches if branch.offers]
    return _joined([draft for draft in drafts if draft.offers or draft.branches])


def _joined(drafts: list[Draft]) -> list[Draft]:
    """Stations in the same state that now follow each other become one."""
    out: list[Draft] = []
    for draft in drafts:
        if out and draft.offers and out[-1].takes(draft.state, draft.offers[0].plain):
            out[-1].offers += draft.offers
            out[-1].gains += draft.gains
        else:
            out.append(draft)
    return out


def _lines(draft: Draft) -> float:
    """Lines of print of a station."""
    bar = TABLE_HEAD if draft.kind is Kind.BRANCH else STATION
    return bar + sum(_own_lines(draft, offer) for offer in draft.offers) if draft.offers else 0.0


def _own_lines(draft: Draft, offer: Offer) -> float:
    row = PLAIN if offer.plain else TABLE_ROW if draft.kind is Kind.BRANCH else ROW
    return row * len(offer.rows)


def _saved(draft: Draft, k: int) -> float:
    """Lines that are saved without the k-th offer: its own, and the bar's if it is the last."""
    return _own_lines(draft, draft.offers[k]) if len(draft.offers) > 1 else _lines(draft)


def numbered(drafts: list[Draft], knowledge: KnowledgeBase) -> tuple[Station, ...]:
    """The stations with their numbers: the way down first, the code table last."""
    out: list[Station] = []
    table: list[Station] = []
    for number, draft in enumerate(drafts, 1):
        then = number + 1 if number < len(drafts) else END
        rows = draft.rows
        if draft.branches:
            table = [
                _station(one, len(drafts) + i, one.rows, then, knowledge) for i, one in enumerate(draft.branches, 1)
            ]
            targets = {pair: one.number for one in table for pair in one.entry}
            rows = tuple(replace(row, to=targets[row.check, row.results[0]]) for row in rows)
        out.append(_station(draft, number, rows, then, knowledge))
    return (*out, *table)


def _station(draft: Draft, number: int, rows: tuple[Row, ...], then: int, knowledge: KnowledgeBase) -> Station:
    needs, running, drives = draft.whole_state()
    minutes = draft.minutes(knowledge)
    return Station(number, draft.kind, rows, then, tuple(sorted(needs)), running, drives, minutes, draft.entry)
