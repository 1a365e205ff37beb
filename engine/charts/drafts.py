"""A ladder on the drawing board: stations and branches that are being filled, and numbered."""

from dataclasses import dataclass, field, replace

import numpy as np

from comeback.engine.belief.network import Vector
from comeback.engine.charts.cars import Cars
from comeback.engine.charts.ladder import END, Kind, Row, Station
from comeback.engine.charts.offers import Offer, State
from comeback.engine.choosing.valuation import HANDLING, set_up_minutes
from comeback.kb.schema import KnowledgeBase

Entry = tuple[tuple[str, str], ...]
"""(check, result) pairs that lead to a branch."""


LONG = 5.0
"""Minutes from which a run of the engine that proves a repair waits for the other looks of its station; judged."""


@dataclass
class Draft:
    """A station that is being filled: what is offered in it, and the share of all cars that it cures.

    `entry`: of a branch, what leads to it. `branches`: of the code table. `behind`: the cars that come
    to a branch. `standing`: set-ups that stand already.
    """

    state: State
    standing: frozenset[str] = frozenset()
    kind: Kind = Kind.LOOK
    offers: list[Offer] = field(default_factory=list)
    gain: float = 0.0
    entry: Entry = ()
    branches: list["Draft"] = field(default_factory=list)
    behind: Vector = field(default_factory=lambda: np.zeros(0))

    def add(self, offer: Offer, gain: float) -> None:
        """One more thing to do here."""
        self.offers.append(offer)
        self.gain += gain

    @property
    def rows(self) -> tuple[Row, ...]:
        """The rows in order; in a branch the engine is off before it runs."""
        if self.kind is Kind.CODES:
            return tuple(Row(check, (result,)) for branch in self.branches for check, result in branch.entry)
        branch = self.kind is Kind.BRANCH
        offers = sorted(self.offers, key=lambda one: (one.state[1], one.plain)) if branch else self.offers
        return tuple(row for offer in offers for row in offer.rows)

    def takes(self, state: State, plain: bool) -> bool:
        """True if what needs this state, or a part of it, can be added here."""
        here = state == self.state or (bool(state[0]) and state[0] <= self.state[0] and state[1:] == self.state[1:])
        return self.kind is Kind.LOOK and here and self.offers[0].plain == plain

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


def stored(cars: Cars, entry: Entry) -> Vector:
    """(N,): chance that one of these results is there."""
    none = [1 - cars.chance(check, (result,)) for check, result in entry]
    return np.asarray(1 - np.prod(none, axis=0))


def numbered(drafts: list[Draft], knowledge: KnowledgeBase) -> tuple[Station, ...]:
    """The stations with their numbers: the way down first, the code table last."""
    out: list[Station] = []
    table: list[Station] = []
    place = {offer.rows: number for number, draft in enumerate(drafts, 1) for offer in draft.offers}
    for branch in (branch for draft in drafts for branch in draft.branches):
        branch.offers.sort(key=lambda offer: place.get(offer.rows, len(drafts)))  # what the way down looks at first
    for draft in drafts:
        late = [offer for offer in draft.offers if not _at_once(offer, knowledge)]
        if 2 * len(late) < len(draft.offers):
            draft.offers.sort(key=lambda offer: offer in late)
    for one in (*drafts, *(branch for draft in drafts for branch in draft.branches)):
        one.offers = _in_order(one.offers, knowledge)
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


def _at_once(offer: Offer, knowledge: KnowledgeBase) -> bool:
    """False if a repair that it calls for is proven by a long run or a drive; what is proven soon goes first."""
    repairs = [knowledge.repairs[name] for row in offer.rows for name in row.repairs]
    proofs = [knowledge.checks[one.proof.check] for one in repairs]
    return not any(one.drives or (one.runs_engine and one.minutes >= LONG) for one in proofs)


def _in_order(offers: list[Offer], knowledge: KnowledgeBase) -> list[Offer]:
    """Each look after those on the same station that it needs, otherwise as they were."""
    left, out = list(offers), list[Offer]()
    while left:
        names = {one.name for one in left}
        free = (k for k, one in enumerate(left) if one.plain or names.isdisjoint(knowledge.checks[one.name].needs))
        out.append(left.pop(next(free, 0)))
    return out


def _station(draft: Draft, number: int, rows: tuple[Row, ...], then: int, knowledge: KnowledgeBase) -> Station:
    needs, running, drives = draft.whole_state()
    minutes = draft.minutes(knowledge)
    return Station(number, draft.kind, rows, then, tuple(sorted(needs)), running, drives, minutes, draft.entry)
