"""A ladder cut to its paper: what cures the fewest cars for the lines that it takes goes, beside all that stays.

D stations and branches    J offers in them    K rows in those    N states of the cars
"""

from dataclasses import replace
from math import ceil

import numpy as np

from comeback.engine.charts.cars import Cars
from comeback.engine.charts.drafts import Draft, fixed_by, stored
from comeback.engine.charts.ladder import Kind, Row
from comeback.engine.charts.offers import Offer
from comeback.kb.schema import KnowledgeBase

LINES = 218.0
"""Lines of print of a ladder, danger strip and cautions on top aside: four pages less a reserve; measured."""
WORTH_A_LINE = 0.00012
"""Least share of all cars that a line of print must cure; judged."""
OFTEN = 0.04
"""Codes that so many of the cars have stored stay in the table; judged."""
LOOK, FIND, DO, FIXED, BETWEEN = 44, 17, 24, 25, 0.2
"""Letters of a line in each column, and lines between two rows; measured."""
STATION, BRANCH, CODES_A_LINE, PLAIN, REFERENCE = 4.4, 3.2, 30, 1.5, 0.5
"""Lines of a station's bar, cautions and exit; of a branch's bar, and how many codes take one more; of a repair without
a look; of a look that stands on the way down too; measured."""


def cut(drafts: list[Draft], cars: Cars) -> list[Draft]:
    """The stations without what is not worth its paper; codes that lead to the same share a branch."""
    if not drafts:
        return []
    sheet = _Sheet(drafts, cars)
    while (k := sheet.least()) is not None:
        sheet.kept[k] = False
    sheet.fill()
    for draft in drafts:
        draft.branches = _shared(draft.branches)
    return _joined([draft for draft in drafts if draft.offers or draft.branches])


class _Sheet:
    """What is still on the paper.

    `every`: stations, then branches; `offers`, `owner` (J,): all that is in them, and in which of them; `twin` (J,):
    the same offer on the way down, else itself. `rows`, `offer` (K,): their rows, and of which offer each is;
    `kept`: still there; `grave`: goes only with all that is looked at there; `stays`: of its offer one row does not go;
    `missed` (K, N): chance that it does not fix the car; `come` (branches, N), `rest` (N,): chance that a car comes
    to a branch, and to none.
    """

    def __init__(self, drafts: list[Draft], cars: Cars) -> None:
        branches = [branch for draft in drafts for branch in draft.branches]
        self.every, self.way = [*drafts, *branches], len(drafts)
        self.offers = [offer for draft in self.every for offer in draft.offers]
        self.owner = np.repeat(np.arange(len(self.every)), [len(draft.offers) for draft in self.every])
        first = {offer.rows: j for j, offer in enumerate(self.offers) if self.owner[j] < self.way}
        twin = [first.get(one.rows, j) if self.owner[j] >= self.way else j for j, one in enumerate(self.offers)]
        self.twin = np.array(twin, np.intp)
        self.rows = [row for offer in self.offers for row in offer.rows]
        self.offer = np.repeat(np.arange(len(self.offers)), [len(one.rows) for one in self.offers])
        self.kept = np.ones(len(self.rows), bool)
        self.heads = np.array([_head_lines(cars.knowledge, draft) for draft in self.every])
        self.looks = np.array([_look_lines(cars.knowledge, offer) for offer in self.offers])
        self.lines = np.array([_row_lines(cars.knowledge, row) for row in self.rows])
        self.grave = np.array([row.stays_off for row in self.rows], bool)
        self.stays = np.array([self.offers[j].stays for j in self.offer], bool)
        self.missed = np.array([1 - fixed_by(cars, (row,)) for row in self.rows]).clip(1e-6)
        self.often = np.array([float(draft.behind.sum()) >= OFTEN for draft in self.every], bool)
        self.weights = np.where(cars.beyond, 0.0, cars.arriving)
        self.come, self.rest = np.ones((len(branches), len(cars.states))), 1 / cars.coded
        for k, branch in enumerate(branches):
            self.come[k] = self.rest * stored(cars, branch.entry)
            self.rest = self.rest - self.come[k]
        self.rest = np.maximum(self.rest + 1 - 1 / cars.coded, 0.0)

    def least(self) -> int | None:
        """The row that is worth the least for each line; None if what is left fits the paper and is worth it."""
        if not self.kept.any():
            return None
        rows = np.bincount(self.offer[self.kept], minlength=len(self.offers))
        own = np.bincount(self.offer[self.kept], self.lines[self.kept], len(self.offers))
        refers = (self.twin != np.arange(rows.size)) & (rows[self.twin] > 0)
        takes = np.where(refers, REFERENCE, np.maximum(self.looks, own)) * (rows > 0)
        there = np.bincount(self.owner[rows > 0], minlength=len(self.every))
        offer, owner, last = self.offer, self.owner[self.offer], rows[self.offer] == 1
        alone = last & (there[owner] == 1)
        less = np.where(refers[offer], REFERENCE, np.maximum(self.looks[offer], own[offer] - self.lines))
        saved = takes[offer] - np.where(last, 0.0, less) + np.where(alone, self.heads[owner], 0.0)
        worth = self._cured() / np.maximum(saved, REFERENCE)
        fixed = (alone & self.often[owner]) | (self.grave & ~last) | (self.stays & last)
        worth = np.where(self.kept & ~fixed, worth, np.inf)
        k = int(worth.argmin())
        enough = worth[k] == np.inf or (takes.sum() + self.heads[there > 0].sum() <= LINES and worth[k] >= WORTH_A_LINE)
        return None if enough else k

    def _cured(self) -> np.ndarray:
        """(K,): share of all cars that would not be fixed without the row; checks taken as independent."""
        owner = self.owner[self.offer]
        left = np.array([np.prod(self.missed[self.kept & (owner == d)], axis=0) for d in range(len(self.every))])
        way, inside = np.prod(left[: self.way], axis=0), self.come * left[self.way :]
        left[: self.way], left[self.way :] = way * (self.rest + inside.sum(axis=0)), way * inside
        return np.asarray(((1 / self.missed - 1) * left[owner]) @ self.weights)

    def fill(self) -> None:
        """Put what is kept into the stations and branches; an offer that a branch refers to has the rows of both."""
        kept: list[set[Row]] = [set() for _ in self.offers]
        for k in np.flatnonzero(self.kept):
            kept[self.offer[k]].add(self.rows[k])
        for j, twin in enumerate(self.twin.tolist()):
            if twin != j and kept[twin] and kept[j]:
                kept[twin] |= kept[j]
        for d, draft in enumerate(self.every):
            draft.offers = []
            for j in np.flatnonzero(self.owner == d).tolist():
                offer, rows = self.offers[j], kept[self.twin[j]] if kept[j] and kept[self.twin[j]] else kept[j]
                if rows:
                    draft.offers.append(replace(offer, rows=tuple(row for row in offer.rows if row in rows)))


def _head_lines(knowledge: KnowledgeBase, draft: Draft) -> float:
    """Lines of a station without its rows."""
    if draft.kind is not Kind.BRANCH:
        return STATION
    return BRANCH + sum(len(knowledge.checks[name].codes.get(seen, ())) for name, seen in draft.entry) // CODES_A_LINE


def _look_lines(knowledge: KnowledgeBase, offer: Offer) -> float:
    """Lines of what an offer says to look at."""
    if offer.plain:
        return PLAIN
    check = knowledge.checks[offer.name]
    return ceil((len(check.name) + len(check.do or "")) / LOOK) + BETWEEN


def _row_lines(knowledge: KnowledgeBase, row: Row) -> float:
    """Lines of a row beside what is looked at."""
    if not row.check:
        return PLAIN
    check, repairs = knowledge.checks[row.check], [knowledge.repairs[name] for name in row.repairs]
    find = ceil(sum(len(check.results[result]) + 4 for result in row.results) / FIND)
    do = sum(ceil((len(one.name) + 2) / DO) for one in repairs) + 2 * row.stays_off
    proofs = {one.proof.check: len(knowledge.checks[one.proof.check].results[one.proof.result]) for one in repairs}
    named = sum(len(knowledge.checks[name].name) for name in proofs if name != row.check)
    return max(find, do, ceil((sum(proofs.values()) + named) / FIXED)) + BETWEEN


def _shared(branches: list[Draft]) -> list[Draft]:
    """Codes that lead to the same share a branch."""
    out: dict[tuple[tuple[Row, ...], ...], Draft] = {}
    for one in (one for one in branches if one.offers):
        same = out.setdefault(tuple(offer.rows for offer in sorted(one.offers, key=lambda offer: offer.name)), one)
        if same is not one:
            same.entry, same.behind = (*same.entry, *one.entry), same.behind + one.behind
    return list(out.values())


def _joined(drafts: list[Draft]) -> list[Draft]:
    """Stations in the same state that now follow each other become one."""
    out: list[Draft] = []
    for draft in drafts:
        if out and draft.offers and out[-1].takes(draft.state, draft.offers[0].plain):
            out[-1].offers += draft.offers
        else:
            out.append(draft)
    return out
