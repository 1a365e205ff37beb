"""Comebacks written down outside the knowledge, and the program played against them on the phone and in the bay."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from comeback.engine.rehearsal.rehearsal import FIXED, guided_end
from comeback.engine.rehearsal.simulated_walk import Memory, go_on, take_over
from comeback.engine.rehearsal.simulation import Car, Chance, Person
from comeback.engine.walk.walk import Walk, begin_walk
from comeback.kb.schema import MEANT, KnowledgeBase
from comeback.kb.vocabulary import Audience, Disposition

DATA = Path(__file__).resolve().parents[1] / "data"
OWN_COMEBACKS = sorted(DATA.glob("own_comebacks*.yaml"))
HELD_OUT = sorted(DATA.glob("held_out_comebacks*.yaml"))
"""Written before the knowledge was read: how it does on what it was not written for.

What the second set showed to be missing was added since, so only its first figures were blind."""

NEEDED = {
    "as_usual": Disposition.WATCH,
    "soon": Disposition.BOOK,
    "straight_here": Disposition.COME_IN,
    "do_not_drive": Disposition.TOW,
}
"""The writer's advice on driving in the program's terms."""

USUAL_CAR = {
    "injection": "port",
    "air": "airflow-meter",
    "induction": "natural",
    "throttle": "electronic",
    "key": "keyed",
    "drive": "gasoline",
}
BEGAN = {"onset": "at-once"}
CODES_LEFT = {"codes-not-cleared", "evap-codes-left", "fuel-codes-left", "sen-codes-left", "tb-codes-left"}
NOT_KNOWN = "not-known-here"


@dataclass(frozen=True)
class OwnComeback:
    """One comeback of a file; `mapped` is its second pass."""

    name: str
    words: str
    driving: str
    dangerous: bool
    source: str
    mapped: Mapping[str, Any]

    @property
    def cause(self) -> str:
        """The known cause that the car has, or the one that is repaired alike."""
        return self.mapped["cause"] or self.mapped.get("repaired_like") or NOT_KNOWN

    @property
    def needed(self) -> Disposition:
        """The least advice on driving that the facts allow."""
        return NEEDED[self.driving]


@dataclass
class FactsCar(Car):
    """A car that answers by written facts; what they do not name is as expected. The right repair ends them.

    `quiet`: facts that also end when stored codes are erased, though the cause is still there.
    """

    facts: Mapping[str, str] = field(default_factory=dict)
    quiet: frozenset[str] = frozenset()

    def result(self, check: str) -> str:
        """The fact, while the cause is there; afterwards only what the customer remembers."""
        entry = self.knowledge.checks[check]
        stands = self.present or entry.lasting
        return self.facts.get(check, entry.expected) if stands else entry.expected

    def repair(self, repair: str) -> None:
        """A repair meant for the cause removes it; one against left codes erases them."""
        removes = _meant_for(self.knowledge, repair)
        self.present -= removes
        if removes & CODES_LEFT:
            self.facts = {check: result for check, result in self.facts.items() if check not in self.quiet}


@dataclass(frozen=True)
class Played:
    """What the program made of a comeback: advice on the phone, and repairs, screens and end in the bay.

    `rank`: the place of its cause among the most probable when the bay begins, from 1; None if it is not among them.
    """

    comeback: OwnComeback
    advice: Disposition | None
    questions: int
    screens: int
    repairs: tuple[str, ...]
    first_right: bool
    end: str
    rank: int | None

    @property
    def fixed(self) -> bool:
        """True if the case closed with the cause repaired and proven gone."""
        return self.end == FIXED


def read_own_comebacks(*files: Path) -> dict[str, OwnComeback]:
    """The comebacks of these files by name, of all but the held-out ones if none is named."""
    read = [yaml.safe_load(file.read_text(encoding="utf-8"))["comebacks"] for file in files or OWN_COMEBACKS]
    return {
        name: OwnComeback(name, c["words"], c["driving"], c.get("dangerous", False), c["source"], c["knowledge"])
        for found in read
        for name, c in found.items()
    }


def play(knowledge: KnowledgeBase, comeback: OwnComeback) -> Played:
    """The call and then the bay, each answered by the facts."""
    car = _car(knowledge, comeback)
    call = begin_walk(knowledge, comeback.mapped["service"], comeback.mapped["complaint"], Audience.PHONE)
    called = go_on(call, Person(car, "caller"), Memory())
    told = called.walk.case.disposition
    advice = None if told is None else Disposition.of(told)
    taken = take_over(called.walk)
    rank = _rank(taken, comeback.cause)
    bay = go_on(taken, Person(car, "technician"), Memory())
    repairs = tuple(done.repair for done in bay.walk.case.repairs)
    right = bool(repairs) and comeback.cause in _meant_for(knowledge, repairs[0])
    end = guided_end(bay, car, frozenset({comeback.cause}))
    return Played(comeback, advice, called.steps, bay.steps, repairs, right, end, rank)


def _meant_for(knowledge: KnowledgeBase, repair: str) -> set[str]:
    """The causes that it removes more often than not; of the others only luck rids the car."""
    return {cause for cause, chance in knowledge.repairs[repair].removes.items() if chance >= MEANT}


def _rank(walk: Walk, cause: str) -> int | None:
    causes = walk.view.network.causes
    ranked = sorted(causes, key=walk.view.belief.probability, reverse=True)
    return ranked.index(cause) + 1 if cause in causes else None


def _car(knowledge: KnowledgeBase, comeback: OwnComeback) -> FactsCar:
    mapped = comeback.mapped
    car = FactsCar(knowledge, Chance(0), {comeback.cause}, USUAL_CAR, facts=BEGAN | mapped["facts"])
    car.quiet = frozenset(mapped.get("quiet_once_erased", ()))
    return car
