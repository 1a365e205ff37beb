"""The car of a drill, drawn by seed, with the program's own path on it.

One seed is one car for a whole class: the first one drawn that the program itself finds and fixes.
"""

from dataclasses import dataclass

from comeback.engine.case.facts import ConditionNamed
from comeback.engine.errors import UnknownEntry
from comeback.engine.rehearsal.rehearsal import FIXED, guided_end
from comeback.engine.rehearsal.simulated_walk import Gone, Memory, go_on
from comeback.engine.rehearsal.simulation import Chance, Comeback, Person, car_of, culprits, draw_comeback
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk, begin_walk
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
    after: Walk


@dataclass(frozen=True)
class HiddenCar:
    """The car of a drill: `behind` are the causes of its complaint, `path` what the program does on it."""

    seed: int
    comeback: Comeback
    behind: frozenset[str]
    start: Walk
    path: tuple[Played, ...]
    minutes: float

    @property
    def repairs(self) -> tuple[str, ...]:
        """The repairs on the program's path, in order."""
        return tuple(played.step.repair for played in self.path if isinstance(played.step, steps.DoRepair))


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
        car = car_of(knowledge, comeback)
        behind = culprits(car, comeback.complaint)
        start = begin_walk(knowledge, comeback.service, comeback.complaint, Audience.BAY)
        for feature, value in comeback.vehicle:
            start = start.imagine(ConditionNamed(feature, value))
        path, gone = play(start, Person(car, "bay"))
        if guided_end(gone, car, behind) == FIXED:
            return HiddenCar(seed, comeback, behind, start, path, gone.minutes)
    wanted = " and ".join(filter(None, (service, complaint))) or "any service"
    raise UnknownEntry("car for a drill with", wanted, " Try another seed, service or complaint.")


def play(start: Walk, person: Person) -> tuple[tuple[Played, ...], Gone]:
    """The program's path from `start`, answered by the person, and how it ended."""
    made: list[tuple[Walk, steps.Step, float]] = []
    gone = go_on(start, person, Memory(), lambda *step: made.append(step))
    walks = [*(walk for walk, _, _ in made[1:]), gone.walk]
    return tuple(Played(*step, after) for step, after in zip(made, walks, strict=True)), gone
