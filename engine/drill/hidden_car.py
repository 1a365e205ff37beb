"""The car of a drill, drawn by seed, with the program's own path on it.

One seed is one car for a whole class: the first one drawn that the program itself finds and fixes.
"""

from dataclasses import dataclass

from comeback.engine.case.events import Kind
from comeback.engine.errors import UnknownEntry
from comeback.engine.rehearsal.rehearsal import FIXED, guided_end
from comeback.engine.rehearsal.simulated_walk import Gone, Memory, begin, go_on
from comeback.engine.rehearsal.simulation import Chance, Comeback, Person, car_of, culprits, draw_comeback
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

MOST_CARS = 30
"""Cars drawn until the program fixes one."""


@dataclass(frozen=True)
class Played:
    """One step of the program's path: the walk before it, the step, its minutes, the walk after it."""

    walk: Walk
    step: steps.Step
    minutes: float


@dataclass(frozen=True)
class HiddenCar:
    """The car of a drill: `behind` are the causes of its complaint, `path` what the program does on it."""

    seed: int
    comeback: Comeback
    behind: frozenset[str]
    start: Walk
    path: tuple[Played, ...]
    minutes: float


def hide_car(
    knowledge: KnowledgeBase, seed: int, service: str | None = None, complaint: str | None = None
) -> HiddenCar:
    """The car of this seed: the first one drawn that the program itself finds and fixes.

    Raises UnknownEntry if there is none.
    """
    for attempt in range(MOST_CARS):
        drawn = int(Chance(seed).of("drill", attempt) * 2**53)
        comeback = draw_comeback(knowledge, drawn, service, complaint)
        if comeback is None:
            break
        car = _hidden(knowledge, seed, comeback)
        if car is not None:
            return car
    wanted = " and ".join(filter(None, (service, complaint))) or "any service"
    raise UnknownEntry("car for a drill with", wanted, " Try another seed, service or complaint.")


def _hidden(knowledge: KnowledgeBase, seed: int, comeback: Comeback) -> HiddenCar | None:
    """The comeback with the program's path on it; None if the program does not fix it."""
    car = car_of(knowledge, comeback)
    behind = culprits(car, comeback.complaint)
    start = begin(knowledge, comeback.service, comeback.complaint, Audience.BAY)
    for feature, value in comeback.vehicle:
        start = start.imagine(start.draft(Kind.CONDITION, "", "", feature=feature, value=value))
    path: list[Played] = []
    gone: Gone = go_on(start, Person(car, "bay"), Memory(), lambda w, s, m: path.append(Played(w, s, m)))
    if guided_end(gone, car, behind) != FIXED:
        return None
    return HiddenCar(seed, comeback, behind, start, tuple(path), gone.minutes)
