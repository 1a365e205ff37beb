"""What may come next on a ladder: a check with the repairs that each of its results calls for, or a plain repair.

Worth is the share of the cars that it cures, given that all above came out as expected; the price is in minutes: the
check, the repairs where it shows something, and a penalty for repairs that were not needed.

    N states    A repairs    C columns: the abnormal results of all looks, side by side    K looks
"""

from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from comeback.engine.belief.network import Vector
from comeback.engine.charts.cars import Cars
from comeback.engine.charts.ladder import Row, by_check
from comeback.engine.choosing.valuation import HANDLING, repair_minutes
from comeback.kb.schema import Check
from comeback.kb.vocabulary import CauseKind, Disposition, Level, Sense, Tier

UNNEEDED = 20.0
"""Minutes that a repair which was not needed costs beyond its work: trust, and a second visit; judged."""
WORTH = 400.0
"""Minutes that it is worth to have a car fixed here and not further down; judged."""
PROVEN = 0.4
"""How much more a repair is worth if all such cars show what its proof looks at; judged."""
CHEAPER = 0.1
"""Of two repairs that cure about the same the cheaper one: how much of its price counts where it is needed; judged."""
READING = 1.0
"""Minutes that one more row costs everybody who reads past it; judged."""
LEAST_GAIN = 0.003
"""A look that cures fewer of the cars that come to it is not worth the paper; judged."""
TELLING = 2.0
"""A result calls for a rare repair if the odds that it cures rise so many times with it; judged."""
LIGHTER = 0.25
"""How much of what the best repair cures a lighter one for the same cause must cure to be tried first; judged."""
SECOND = 0.2
"""Least share of the cars behind a result that a second repair must cure; judged."""
SHOWS, EVIDENT, PLAINLY, TIMES = 0.3, 0.4, 0.8, 3.0
"""A cause shows in a result that it has at least this often; so often that a new part may be put in for it; so often
that a repair is done again; and so many times as often as a sound car; judged."""
LOOK_FIRST, DANGER_FIRST = 3.0, 3.0
"""How much better a repair must be that is done without a look; how much more a look for danger counts; judged."""
OFF_FIRST = 2.5
"""How much better what runs the engine must be to come before what does not; judged."""
PROBABLE = 0.2
"""Least share of the cars that a new part must cure without a look that tells, where there is one; judged."""
SELDOM = 0.1
"""A look that pays nothing is made for completeness only if no more of the cars show something there; judged."""
HINTS = 0.1
"""A result calls for a repair only if a cause that it is meant for has the result at least this often; judged."""
TOUCHED, QUICK = 1.5, 2.0
"""What the service touched counts so much more where a look costs no more than these minutes; judged."""
FEW = 0.002
"""States that hold less than this part of the cars are left out where rows are compared; judged, for speed."""

State = tuple[frozenset[str], bool, bool]
"""Set-ups, whether the engine runs, whether the car is driven."""


@dataclass(frozen=True)
class Offer:
    """One thing to do next. `name`: a check, or a repair if `plain`. `gain`: share cured; `minutes`: all but set-ups.

    `weight`: the gain, raised for what the service touched and lowered where the engine runs. `puts_right`: repairs
    that put right what is seen, so that they are no use without it. `stays`: kept even when the paper is full.
    """

    name: str
    plain: bool
    state: State
    gain: float
    minutes: float
    weight: float
    rows: tuple[Row, ...]
    puts_right: frozenset[str] = frozenset()
    stays: bool = False


class Offers:
    """All that may become a row for these cars."""

    def __init__(self, cars: Cars) -> None:
        self.cars, self.knowledge = cars, cars.knowledge
        self.asked = cars.view.listed_signs
        helping = np.asarray(cars.credit.any(axis=1))
        self.repairs = [one for k, one in enumerate(cars.repairs) if helping[k] and cars.allowed(one.id)]
        kept = [cars.repairs.index(one) for one in self.repairs]
        self.credit = cars.credit[kept]
        self.prices = np.array([repair_minutes(self.knowledge, one, ()) for one in self.repairs])
        self.looks = [one for name in cars.checks if self._is_look(one := self.knowledge.checks[name])]
        self.minutes = np.array([one.minutes for one in self.looks])
        self.columns = [(k, result) for k, one in enumerate(self.looks) for result in one.names[1:]]
        self.of_look = np.array([k for k, _ in self.columns], np.intp)
        self.columns_of = [np.flatnonzero(self.of_look == k) for k in range(len(self.looks))]
        self._known_rows: dict[tuple[int, tuple[tuple[int, int], ...]], tuple[Row, ...]] = {}
        tables = [cars.shown.of(one.id)[:, 1:] for one in self.looks]
        self.table = np.concatenate(tables, axis=1) if tables else np.zeros((len(cars.states), 0))

    @cached_property
    def off_first(self) -> bool:
        """True if a danger sign that was seen keeps the engine off as long as may be."""
        return bool(self.cars.view.engine_off)

    def _is_look(self, check: Check) -> bool:
        """Not what a driver remembers, nor what is read as codes, nor a danger sign of other complaints."""
        if check.panel or check.sense is Sense.REMEMBER or check.erases_evidence:
            return False
        if (check.red_flag and check.id not in self.asked) or not self.cars.view.can_tell(check):
            return False
        return self.cars.running or not self._is_off(check)

    def _is_off(self, check: Check) -> bool:
        """True if the check is not made while the engine stays off; with fuel or fire nothing is switched on."""
        return self.knowledge.switches_on(check.id) if self.cars.view.burning else check.runs_engine

    def best(self, mass: Vector, used: Collection[str], least: float, always: Collection[str] = ()) -> list[Offer]:
        """What pays more than `least`, as share cured per minute, for these cars; `always`: whatever it pays."""
        total = max(float(mass.sum()), 1e-12)
        some = mass > FEW * total
        if not self.repairs or not some.any():
            return []
        behind = self.table[some] * (mass[some] / total)[:, None]
        credit = self.credit[:, some]
        reach, usual = behind.sum(axis=0), credit @ (mass[some] / total)
        done = np.array([[one.id in used] for one in self.repairs], bool)  # or what it puts right was looked at
        may = self._evident & ~(done & ~self._plainly)
        first, cured, spent = self._chosen(credit, usual, behind, reach, may, first=True)
        left = behind * (1 - np.where(first < 0, 0.0, credit[first].T))
        second, more, also = self._chosen(credit, usual, left, left.sum(axis=0), may, first=False)
        second = np.where((more < SECOND * reach) | (second == first) | (first < 0), -1, second)
        gain = np.bincount(self.of_look, cured + np.where(second < 0, 0, more), len(self.looks))
        price = np.bincount(self.of_look, spent + np.where(second < 0, 0, also), len(self.looks))
        minutes = READING + HANDLING + self.minutes + price
        pays = gain > np.maximum(least * minutes, LEAST_GAIN)
        seldom = np.bincount(self.of_look, reach, len(self.looks)) <= SELDOM
        pays |= seldom & np.array([one.id in always for one in self.looks], bool)
        offered = (k for k in np.flatnonzero(pays).tolist() if self.looks[k].id not in used)
        rows = {k: self._rows(k, first, second) for k in offered}
        out = [self._offer(k, float(gain[k]), float(minutes[k]), told) for k, told in rows.items() if told]
        return out + self._plain(usual, used, least, {offer.name for offer in out})

    def _offer(self, look: int, gain: float, minutes: float, rows: tuple[Row, ...]) -> Offer:
        check, named = self.looks[look], {name for row in rows for name in row.repairs}
        weight = gain * (DANGER_FIRST if check.tier <= Tier.CAR else 1.0)
        if check.minutes <= QUICK and not named.isdisjoint(self._undo_slips):
            weight *= TOUCHED
        if check.runs_engine:
            weight /= OFF_FIRST
        own = {name for row in rows for result in row.results for name in self.own.get((check.id, result), ())}
        state = frozenset(check.set_up), check.runs_engine, check.drives
        return Offer(check.id, False, state, gain, minutes, weight, rows, frozenset(own & named))

    def _chosen(
        self, credit: Vector, usual: Vector, behind: Vector, reach: Vector, may: np.ndarray, first: bool
    ) -> tuple[np.ndarray, Vector, Vector]:
        """(C,): the repair that each result calls for (-1: none), the share it cures, its minutes."""
        cures = credit @ behind
        unneeded = (self.prices[:, None] + UNNEEDED) * (reach - cures)  # a repair that was needed costs what it must
        worth = cures * (1 + self._bearing[:, None]) * WORTH - unneeded - CHEAPER * self.prices[:, None] * reach
        most = credit.max(axis=1, initial=1e-6)  # a repair that cures 9 of 10 cures no more, however telling the result
        odds = TELLING ** (1 - usual / most)  # and what cures most cars anyway cannot become much likelier
        telling = odds * usual / (1 + (odds - 1) * usual / most)
        worth = np.where((cures >= telling[:, None] * reach) & may, worth, -1.0)
        here = np.arange(reach.size)
        if first:
            worth = np.where(self._own_here, worth + 1e6, worth)  # what is seen is put right, whatever else is likely
        best, found = worth.argmax(axis=0), worth.max(axis=0) > 0
        if first:
            tried = self._lighter[:, best] & may & (cures >= LIGHTER * cures[best, here])
            tried &= self._own_here | ~self._own_here[best, here]
            best = np.where(tried.any(axis=0), np.where(tried, cures, -1.0).argmax(axis=0), best)
        spent = unneeded[best, here]
        return np.where(found, best, -1), np.where(found, cures[best, here], 0.0), np.where(found, spent, 0.0)

    @cached_property
    def _bearing(self) -> Vector:
        """(A,): how much its proof has to do with the complaint: idle speed with a rough idle, the clock has not."""
        proofs = [self.knowledge.checks[one.proof.check] for one in self.repairs]
        known = {one.id: one.names[1:] for one in proofs if one.id in self.cars.checks}
        shown = {name: float(self.cars.arriving @ self.cars.chance(name, seen)) for name, seen in known.items()}
        return np.array([PROVEN * shown.get(one.id, 0.0) for one in proofs])

    @cached_property
    def _evident(self) -> np.ndarray:
        """(A, C): the result may call for the repair; for a new part only what is seen or measured, and it shows in."""
        new = np.array([one.parts > 0 for one in self.repairs], bool)[:, None]
        told, hinted = self._meant @ (self._seen(EVIDENT) & self._direct_here), self._meant @ self._seen(HINTS)
        return np.asarray(np.where(new, told, hinted))

    @cached_property
    def _plainly(self) -> np.ndarray:
        """(A, C): the result shows plainly what the repair is for, so that it calls for it even if it was done."""
        return np.asarray(self._meant @ self._seen(PLAINLY))

    @cached_property
    def _direct_here(self) -> np.ndarray:
        """(C,): seen or measured on the car."""
        return np.array([one.id in self._direct for one in self.looks], bool)[self.of_look]

    @cached_property
    def _lighter(self) -> np.ndarray:
        """(A, A): the first is for one of the causes of the second and takes less apart, so it is tried before it."""
        tiers = np.array([one.tier for one in self.repairs])
        alike = 2 * self._bearing[:, None] >= self._bearing
        return np.asarray((self._meant @ self._meant.T) & (tiers[:, None] < tiers) & alike)

    @cached_property
    def _meant(self) -> np.ndarray:
        """(A, L): the repair is meant for the cause."""
        meant = [[one.meant_for(name) for name in self.cars.columns] for one in self.repairs]
        return np.array(meant, bool).reshape(len(self.repairs), len(self.cars.columns))

    def _seen(self, least: float) -> np.ndarray:
        """(L, C): the cause shows in the result, at least so often."""
        place = {(self.looks[look].id, result): c for c, (look, result) in enumerate(self.columns)}
        seen = np.zeros((len(self.cars.columns), len(self.columns)), bool)
        for cause, number in self.cars.columns.items():
            for name in self.knowledge.causes[cause].shows:
                check = self.knowledge.checks[name]
                for result in check.names[1:]:
                    if (name, result) in place:
                        seen[number, place[name, result]] = self._shows(cause, check, result, least)
        return seen

    def _plain(self, cures: Vector, used: Collection[str], least: float, looks: Collection[str]) -> list[Offer]:
        """Repairs without a look.

        Not a new part while one of the `looks` on offer can show the cause, nor after such a look unless it is
        probable; with fuel or fire nothing at all while one of them does.
        """
        out = []
        minutes_of = READING + (self.prices + UNNEEDED) * (1 - cures)
        for k in np.flatnonzero(cures > least * minutes_of).tolist():
            one, gain, minutes = self.repairs[k], float(cures[k]), float(minutes_of[k])
            direct = self._looks_for[one.id] & self._direct
            shown = one.parts > 0 and bool(direct) and (gain < PROBABLE or not direct.isdisjoint(looks))
            shown |= self.cars.view.burning and not self._looks_for[one.id].isdisjoint(looks)
            if not shown and one.id not in used and one.level is not Level.SPECIALIST:
                runs = self.cars.view.runs_engine(one.id) or one.drives
                state = frozenset[str](), runs or not self.off_first, False
                weight = gain / LOOK_FIRST / (OFF_FIRST if runs else 1.0)
                out.append(Offer(one.id, True, state, gain, minutes, weight, (Row("", (), (one.id,)),)))
        return out

    @cached_property
    def _looks_for(self) -> dict[str, frozenset[str]]:
        """By repair the looks that show a cause which it is meant for."""
        tells = self._meant @ self._seen(SHOWS)
        looks = [{self.looks[self.columns[c][0]].id for c in np.flatnonzero(row)} for row in tells]
        return {one.id: frozenset(names) for one, names in zip(self.repairs, looks, strict=True)}

    @cached_property
    def _direct(self) -> frozenset[str]:
        """Looks that see or measure something on the car."""
        return frozenset(look.id for look in self.looks if _is_direct(look))

    @cached_property
    def harmless(self) -> frozenset[str]:
        """Repairs for what is no fault of car or service and lets the car drive as usual, such as clear water."""
        causes = self.knowledge.causes.items()
        calm = {name for name, one in causes if one.drive is Disposition.WATCH and one.kind is CauseKind.UNRELATED}
        return frozenset(one.id for one in self.repairs if calm.issuperset(one.removes))

    @cached_property
    def _undo_slips(self) -> frozenset[str]:
        """Repairs that undo what the service did wrong."""
        slips = {name for name in self.cars.columns if self.knowledge.causes[name].kind is CauseKind.SLIP}
        return frozenset(one.id for one in self.knowledge.repairs.values() if not slips.isdisjoint(one.removes))

    def _rows(self, look: int, first: np.ndarray, second: np.ndarray) -> tuple[Row, ...]:
        """The rows of a look, given the repairs of each column; results that call for the same stand in one."""
        columns = self.columns_of[look]
        chosen = look, tuple(zip(first[columns].tolist(), second[columns].tolist(), strict=True))
        if chosen not in self._known_rows:
            self._known_rows[chosen] = self._new_rows(*chosen)
        return self._known_rows[chosen]

    def _new_rows(self, look: int, chosen: tuple[tuple[int, int], ...]) -> tuple[Row, ...]:
        check = self.looks[look]
        rows: dict[tuple[tuple[str, ...], bool], tuple[str, ...]] = {}
        for result, numbers in zip(check.names[1:], chosen, strict=True):
            repairs = [self.repairs[a].id for a in numbers if a >= 0]
            own = self.own.get((check.id, result), ())
            if own and not set(own) & set(repairs):
                repairs = [own[0], *repairs][:2]
            key = tuple(dict.fromkeys(repairs)), self.keeps_off(check, result, repairs)
            if any(key):
                rows[key] = (*rows.get(key, ()), result)
        return tuple(Row(check.id, results, key[0], stays_off=key[1]) for key, results in rows.items())

    @cached_property
    def _own_here(self) -> np.ndarray:
        """(A, C): the repair puts right what is seen there."""
        own = [self.own.get((self.looks[look].id, result), ()) for look, result in self.columns]
        return np.array([[one.id in names for names in own] for one in self.repairs], bool)

    @cached_property
    def own(self) -> dict[tuple[str, str], tuple[str, ...]]:
        """(check, result) -> the repairs that put right what is seen there, cheapest first: that check proves them."""
        out: dict[tuple[str, str], tuple[str, ...]] = {}
        for repair in sorted(self.cars.repairs, key=lambda one: (one.minutes + one.parts, one.id)):
            check = self.knowledge.checks[repair.proof.check]
            seen = check.tier <= Tier.LOOK and not check.runs_engine and check.sense is None  # right or wrong by itself
            if seen and repair.proof.result == check.expected and self.cars.allowed(repair.id):
                for result in check.names[1:]:
                    if any(self._shows(cause, check, result) for cause in repair.removes):
                        out[check.id, result] = (*out.get((check.id, result), ()), repair.id)
        return out

    def _shows(self, cause: str, check: Check, result: str, least: float = SHOWS) -> bool:
        if cause not in self.cars.view.network.places or check.id not in self.knowledge.causes[cause].shows:
            return False
        number = check.names.index(result)
        chance, leak = self.knowledge.chances(cause, check.id)[number], self.knowledge.leak(check.id)[number]
        return chance >= max(least, TIMES * leak)

    def keeps_off(self, check: Check, result: str, repairs: Collection[str]) -> bool:
        """True if what was seen keeps the engine off: a danger sign, or what also shows in one of fuel or fire."""
        if result in check.engine_off:
            return True
        removed = {cause for name in repairs for cause in self.knowledge.repairs[name].removes}
        return any(self._shows(cause, check, result) for cause in removed & self._grave)

    @cached_property
    def _grave(self) -> frozenset[str]:
        """Causes with which no car is driven and that show in a sign of fuel or fire."""
        checks, causes = self.knowledge.checks, self.knowledge.causes
        there = (name for name in self.cars.view.network.causes if causes[name].drive >= Disposition.TOW)
        signs = [(check, seen) for check in checks.values() for seen in check.fire]
        return frozenset(name for name in there if any(self._shows(name, sign, seen) for sign, seen in signs))


def _is_direct(look: Check) -> bool:
    """True for what is seen or measured on the car, not heard, smelled, felt, or written down before."""
    return look.sense in (None, Sense.SEE) and not look.lasting


def after(cars: Cars, mass: Vector, rows: Collection[Row]) -> Vector:
    """The cars of a mass that go on below some rows."""
    for group in by_check(rows):
        rest, left = mass.copy(), np.zeros_like(mass)
        for row in group:
            hit = mass * cars.chance(row.check, row.results) if row.check else mass
            rest -= hit
            for repair in row.repairs:
                _, hit, unneeded = cars.treated(hit, repair)
                hit = hit + unneeded
            left += hit
        mass = np.maximum(rest + left, 0.0)
    return mass
