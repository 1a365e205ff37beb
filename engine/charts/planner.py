"""A ladder chosen: which rows, in which order, in which states of the car.

Greedy on the exact belief: next comes what cures the most cars per minute, given that all above came out as expected.
The state of the car is paid once per station; the stored codes are a station whose exits lead to a table of their own.
"""

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from comeback.engine.belief.network import Vector, Vehicle
from comeback.engine.charts.cars import Cars, cars_of
from comeback.engine.charts.cutting import cut
from comeback.engine.charts.drafts import Draft, fixed_by, numbered, stored
from comeback.engine.charts.ladder import Figures, Kind, Ladder, by_check
from comeback.engine.charts.measure import measure
from comeback.engine.charts.offers import Offer, Offers, State, after
from comeback.engine.charts.phone import phone_ladder
from comeback.engine.charts.strip import start, strip, without_signs
from comeback.engine.choosing.valuation import set_up_minutes
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

MOST_LOOKS, MOST_PLAIN, IN_STATION, IN_BRANCH = 65, 8, 8, 6
"""Checks of a ladder, repairs without one; checks of a station, rows of a branch, before cutting to size; judged."""
LEAST = 1 / 4000
"""Least share of the cars that a minute must cure: handing over costs 600 minutes and the customer's trust; judged."""
SWITCH = 5.0
"""Minutes that another station costs beyond its set-ups; judged."""
ABOVE = 0.3
"""Least share of the cars with a code that a look above the codes must cure to be named for it; judged."""
ANOTHER = 20.0
"""Minutes that another row of a branch costs, so that few rows that tell much come before many; judged."""
NEAR = 0.5
"""A row goes up into an earlier station that costs nothing to enter if worth so much of the least there; judged."""
CODES_LATER = 2.0
"""How much better the stored codes must be to be read before what takes no tool is looked at; judged."""
BEARS, RARE = 2.0, 0.004
"""Codes bear on a complaint if so many times as many of its cars have them as of any, at least that share; judged."""
POINTS = 1.2
"""A result points at a row if the row cures so many times as many of the cars that show it; judged."""
CODES = "codes"
"""Stands for the panel of codes where a check is named."""


def bay_ladder(knowledge: KnowledgeBase, service: str, complaint: str, vehicle: Vehicle = ()) -> Ladder:
    """The ladder for the technician. Raises what `posterior` raises."""
    begun = start(knowledge, service, complaint, Audience.BAY, vehicle)
    signs, stopped = strip(begun.view)
    cars = cars_of(without_signs(begun, signs))
    stations = numbered(cut(Planner(cars).plan(), cars), knowledge)
    ladder = Ladder(service, complaint, Audience.BAY, knowledge.version, signs, stations, Figures(0, 0, 0, stopped))
    return replace(ladder, figures=measure(ladder, cars, stopped))


def ladder_of(
    knowledge: KnowledgeBase, service: str, complaint: str, audience: Audience, vehicle: Vehicle = ()
) -> Ladder:
    """The ladder for either reader. Raises what `posterior` raises if the findings exclude each other."""
    make = phone_ladder if audience is Audience.PHONE else bay_ladder
    return make(knowledge, service, complaint, vehicle)


class Planner:
    """Chooses the stations for some cars."""

    def __init__(self, cars: Cars) -> None:
        self.cars, self.knowledge = cars, cars.knowledge
        self.offers = Offers(cars)
        self.always = _always(cars)
        self.mass = cars.arriving.copy()
        self.used: set[str] = set()
        self.standing: frozenset[str] = frozenset()
        self.drafts: list[Draft] = []
        self.table: list[Draft] = []

    def plan(self) -> list[Draft]:
        """The stations in order."""
        self.table = self._code_table()
        self.flows = [(one, stored(self.cars, one.entry), fixed_by(self.cars, one.rows)) for one in self.table]
        while self._next():
            pass
        return self.drafts

    def _next(self) -> bool:
        """Put what pays most on the ladder, a row in its state or the code table; False if nothing does."""
        groups: dict[tuple[State, bool], list[Offer]] = {}
        taken = [offer.plain for draft in self.drafts for offer in draft.offers]
        full = {False: taken.count(False) >= MOST_LOOKS, True: taken.count(True) >= MOST_PLAIN}
        found = self.offers.best(self.mass, self.used, LEAST, self.always)
        if self._open_with(found):
            return True
        for offer in [one for one in found if not one.plain or one.name not in self.offers.harmless] or found:
            if not full[offer.plain]:
                groups.setdefault((offer.state, offer.plain), []).append(offer)
        if self.offers.off_first and any(not state[1] for state, _ in groups):
            groups = {key: found for key, found in groups.items() if not key[0][1]}
        scored = {key: self._rate(*key, found) for key, found in groups.items()}
        best = max(scored, key=lambda key: scored[key], default=None)
        codes = self._codes_rate()
        if codes > LEAST and (best is None or codes > scored[best]):
            self._take_codes()
        elif best is None:
            return False
        else:
            self._take(max(groups[best], key=_ratio))
        return True

    def _open_with(self, found: list[Offer]) -> bool:
        """Put on what every good technician looks at first, then the codes if they are part of it."""
        first = self.cars.view.openings
        offers = {offer.name: offer for offer in found if not (self.offers.off_first and offer.state[1])}
        name = next((name for name in first if name in offers), None)
        if name is not None:
            self._take(replace(offers[name], stays=name in self.always))
        elif CODES in first and CODES not in self.used and self.table:
            self._take_codes()
        else:
            return False
        return True

    def _rate(self, state: State, plain: bool, offers: list[Offer]) -> float:
        """Share cured per minute by the best rows of one state, the state paid once."""
        entered = self._room(state, plain, max(map(_ratio, offers)))
        minutes = 0.0 if entered else SWITCH + set_up_minutes(self.knowledge, state[0], self.standing)
        gain, best = 0.0, 0.0
        for offer in sorted(offers, key=_ratio, reverse=True)[:IN_STATION]:
            gain, minutes = gain + offer.weight, minutes + offer.minutes
            best = max(best, gain / minutes)
        return best

    def _room(self, state: State, plain: bool, ratio: float) -> Draft | None:
        """The station that takes one more row of this worth and state: nobody goes back into a state for a few rows."""
        last = self.drafts[-1:]
        free = (one for one in self.drafts if one.takes(state, plain) and len(by_check(one.rows)) < IN_STATION
                if one in last or state[0] or ratio >= NEAR * min(map(_ratio, one.offers)))  # fmt: skip
        return next(free, None)

    def _take(self, offer: Offer) -> None:
        draft = self._room(offer.state, offer.plain, _ratio(offer)) or self._open(Draft(offer.state, self.standing))
        draft.add(offer, offer.gain * float(self.mass.sum()))
        draft.offers.sort(key=lambda one: offer.name in self._needs(one))  # what follows it comes after it
        self.used |= {offer.name, *offer.puts_right}
        self.mass = after(self.cars, self.mass, offer.rows)

    def _needs(self, offer: Offer) -> Collection[str]:
        """Checks that must have been made before."""
        return () if offer.plain else self.knowledge.checks[offer.name].needs

    def _open(self, draft: Draft) -> Draft:
        self.drafts.append(draft)
        self.standing = self.knowledge.set_ups_after(self.standing, draft.state[0])
        return draft

    def _code_table(self) -> list[Draft]:
        """For each family of codes that bears on the complaint, the rows that its codes call for; the surest first."""
        usual = {(one.name, one.plain): one.gain for one in self.offers.best(self.mass, (), 0.0)}
        out: list[Draft] = []
        for check in (self.knowledge.checks[name] for name in self.cars.checks if self.knowledge.checks[name].panel):
            leak = self.knowledge.leak(check.id)
            for number, result in enumerate(check.names[1:], 1):
                chance = self.cars.shown.of(check.id)[:, number] / self.cars.coded
                if self.cars.arriving @ chance >= max(RARE, BEARS * leak[number]):
                    out.append(self._branch((check.id, result), chance, frozenset(check.set_up), usual))
        return sorted((one for one in out if one.offers), key=lambda one: -one.gain / float(one.behind.sum()))

    def _branch(
        self, entry: tuple[str, str], chance: Vector, standing: frozenset[str], usual: dict[tuple[str, bool], float]
    ) -> Draft:
        """The rows that follow one result: what stands above and tells it, then what is worth more with it."""
        behind, mass = self.cars.arriving * chance, self.mass * chance
        draft = Draft((frozenset(), False, False), standing, Kind.BRANCH, entry=(entry,), behind=behind)
        used = {*self.used, entry[0]}
        above = [offer for one in self.drafts for offer in one.offers if not offer.plain]
        told = {k: float(behind @ fixed_by(self.cars, offer.rows)) for k, offer in enumerate(above)}
        if told and max(told.values()) >= ABOVE * behind.sum():
            draft.add(above[max(told, key=lambda k: told[k])], 0.0)

        def rate(offer: Offer) -> float:
            minutes = ANOTHER + offer.minutes + set_up_minutes(self.knowledge, offer.state[0], standing)
            return offer.weight / minutes

        while len(draft.rows) < IN_BRANCH:
            found = self.offers.best(mass, used, LEAST)
            pointed = (one for one in found if one.gain > POINTS * usual.get((one.name, one.plain), 0.0))
            best = max(pointed, key=rate, default=None)
            if best is None:
                break
            draft.add(best, best.gain * float(mass.sum()))
            used |= {best.name, *best.puts_right}
            mass = after(self.cars, mass, best.rows)
        return draft

    def _codes_rate(self) -> float:
        """Share cured per minute by reading the codes now and following their table; 0 with fuel or fire."""
        if self.cars.view.burning:
            return 0.0
        if not self.table or CODES in self.used:
            return 0.0
        draft = self._codes()
        rest, gain, minutes = self.mass / self.cars.coded, 0.0, draft.minutes(self.knowledge) + SWITCH
        for one, reached, cured in self.flows:
            hit = rest * reached
            gain += float(hit @ cured)
            minutes += float(hit.sum()) / float(self.mass.sum()) * one.minutes(self.knowledge)
            rest = rest - hit
        return gain / float(self.mass.sum()) / minutes / CODES_LATER

    def _codes(self) -> Draft:
        first = self.knowledge.checks[self.table[0].entry[0][0]]
        state = frozenset(first.set_up), first.runs_engine, first.drives
        return Draft(state, self.standing, Kind.CODES, branches=self.table)

    def _take_codes(self) -> None:
        self.used.add(CODES)
        if self.drafts:  # else nothing stands above that the table could name
            self.table = self._code_table() or self.table
        self._open(self._codes())
        rest, left = self.mass / self.cars.coded, self.mass * (1 - 1 / self.cars.coded)
        for one in self.table:
            hit = rest * stored(self.cars, one.entry)
            rest, left = rest - hit, left + after(self.cars, hit, one.rows)
        self.mass = np.maximum(rest + left, 0.0)


def _ratio(offer: Offer) -> float:
    return offer.weight / offer.minutes


def _always(cars: Cars) -> frozenset[str]:
    """Looks that no technician leaves out even if no cause ties them to the complaint.

    What the complaint opens with, and what the service touched if the engine runs badly.
    """
    view, known = cars.view, cars.knowledge
    runs = any(known.checks[name].runs_engine for name in view.stated)
    first = {look for one in view.complaints for look in one.opening}
    return frozenset(view.openings if runs else first.intersection(view.openings))
