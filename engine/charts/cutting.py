"""A ladder cut to its paper: what cures the fewest cars for the lines that it takes goes, beside all that stays.

D stations and branches    K offers in them    N states of the cars
"""

from math import ceil

import numpy as np

from comeback.engine.charts.cars import Cars
from comeback.engine.charts.drafts import Draft, fixed_by, stored
from comeback.engine.charts.ladder import Kind, Row
from comeback.engine.charts.offers import Offer
from comeback.kb.schema import KnowledgeBase

LINES = 244.0
"""Lines of print on the pages of a ladder, danger strip and cautions on top aside: four pages, measured."""
WORTH_A_LINE = 0.00012
"""Least share of all cars that a line of print must cure; judged."""
OFTEN = 0.04
"""Codes that so many of the cars have stored stay in the table; judged."""
LOOK, FIND, DO, FIXED = 38, 17, 25, 25
"""Letters of a line in each column; measured."""
STATION, BRANCH, CODES_A_LINE, PLAIN, REFERENCE = 4.4, 2.0, 30, 1.5, 0.5
"""Lines of a station's bar, cautions and exit; of a branch's bar, and how many codes take one more; of a repair without
a look; of a look that stands on the way down too; measured."""


def cut(drafts: list[Draft], cars: Cars) -> list[Draft]:
    """The stations without what is not worth its paper; codes that lead to the same share a branch."""
    if not drafts:
        return []
    sheet = _Sheet(drafts, cars)
    while (k := sheet.least()) is not None:
        sheet.kept[k] = False
    for d, draft in enumerate(sheet.every):
        draft.offers = [one for k, one in enumerate(sheet.offers) if sheet.owner[k] == d and sheet.kept[k]]
    for draft in drafts:
        draft.branches = _shared(draft.branches)
    return _joined([draft for draft in drafts if draft.offers or draft.branches])


class _Sheet:
    """What is still on the paper.

    `every`: stations, then branches; `owner` (K,): which of them an offer is in; `twin` (K,): the same rows on the way
    down, else itself; `missed` (K, N): chance that it does not fix the car; `come` (branches, N), `rest` (N,): chance
    that a car comes to a branch, and to none.
    """

    def __init__(self, drafts: list[Draft], cars: Cars) -> None:
        branches = [branch for draft in drafts for branch in draft.branches]
        self.every, self.way = [*drafts, *branches], len(drafts)
        self.offers = [offer for draft in self.every for offer in draft.offers]
        self.kept = np.ones(len(self.offers), bool)
        self.owner = np.repeat(np.arange(len(self.every)), [len(draft.offers) for draft in self.every])
        self.heads = np.array([_head_lines(cars.knowledge, draft) for draft in self.every])
        self.lines = np.array([_own_lines(cars.knowledge, offer) for offer in self.offers])
        first = {offer.rows: k for k, offer in enumerate(self.offers) if self.owner[k] < self.way}
        twin = [first.get(one.rows, k) if self.owner[k] >= self.way else k for k, one in enumerate(self.offers)]
        self.twin = np.array(twin, np.intp)
        self.missed = np.array([1 - fixed_by(cars, one.rows) for one in self.offers]).clip(1e-6)
        self.often = np.array([float(draft.behind.sum()) >= OFTEN for draft in self.every], bool)
        self.weights = np.where(cars.beyond, 0.0, cars.arriving)
        self.come, self.rest = np.ones((len(branches), len(cars.states))), 1 / cars.coded
        for k, branch in enumerate(branches):
            self.come[k] = self.rest * stored(cars, branch.entry)
            self.rest = self.rest - self.come[k]
        self.rest = np.maximum(self.rest + 1 - 1 / cars.coded, 0.0)

    def least(self) -> int | None:
        """The offer that is worth the least for each line; None if what is left fits the paper and is worth it."""
        if not self.kept.any():
            return None
        lines = np.where((self.twin != np.arange(self.kept.size)) & self.kept[self.twin], REFERENCE, self.lines)
        alone = np.bincount(self.owner[self.kept], minlength=len(self.every))[self.owner] == 1
        worth = self._cured() / (lines + np.where(alone, self.heads[self.owner], 0.0))
        worth = np.where(self.kept & ~(alone & self.often[self.owner]), worth, np.inf)
        k = int(worth.argmin())
        length = float(lines[self.kept].sum() + self.heads[np.unique(self.owner[self.kept])].sum())
        enough = worth[k] == np.inf or (length <= LINES and worth[k] >= WORTH_A_LINE)
        return None if enough else k

    def _cured(self) -> np.ndarray:
        """(K,): share of all cars that would not be fixed without the offer; checks taken as independent."""
        left = np.array([np.prod(self.missed[self.kept & (self.owner == d)], axis=0) for d in range(len(self.every))])
        way, inside = np.prod(left[: self.way], axis=0), self.come * left[self.way :]
        left[: self.way], left[self.way :] = way * (self.rest + inside.sum(axis=0)), way * inside
        return np.asarray(((1 / self.missed - 1) * left[self.owner]) @ self.weights)


def _head_lines(knowledge: KnowledgeBase, draft: Draft) -> float:
    """Lines of a station without its rows."""
    if draft.kind is not Kind.BRANCH:
        return STATION
    return BRANCH + sum(len(knowledge.checks[name].codes.get(seen, ())) for name, seen in draft.entry) // CODES_A_LINE


def _own_lines(knowledge: KnowledgeBase, offer: Offer) -> float:
    """Lines of the rows of an offer."""
    if offer.plain:
        return PLAIN
    check, lines = knowledge.checks[offer.name], 0
    for row in offer.rows:
        repairs = [knowledge.repairs[name] for name in row.repairs]
        find = ceil(sum(len(check.results[result]) + 4 for result in row.results) / FIND)
        do = sum(ceil((len(one.name) + 2) / DO) for one in repairs) + 2 * row.stays_off
        proofs = {one.proof.check: len(knowledge.checks[one.proof.check].results[one.proof.result]) for one in repairs}
        named = sum(len(knowledge.checks[name].name) for name in proofs if name != offer.name)
        lines += max(find, do, ceil((sum(proofs.values()) + named) / FIXED))
    return max(ceil((len(check.name) + len(check.do or "")) / LOOK), lines) + 0.2 * len(offer.rows)


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
