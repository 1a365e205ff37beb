"""What a worked example needs beyond the program's path: how it ended, and how a beginner would have gone about it."""

from dataclasses import dataclass

from comeback.engine.drill.hidden_car import HiddenCar, Played
from comeback.engine.errors import EngineError
from comeback.engine.rehearsal.fixed_orders import GONE, SPECIALIST, Lists, by_repair_order
from comeback.engine.rehearsal.rehearsal import needless_repairs
from comeback.engine.rehearsal.simulated_walk import respond
from comeback.engine.rehearsal.simulation import Person, car_of
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase


@dataclass(frozen=True)
class ByGuess:
    """The same car repaired by the likeliest guess, one after the other, without a check.

    `right`: the chance of the first guess by the complaint alone. `end`: gone, given to a specialist, or given up.
    """

    repairs: tuple[str, ...]
    needless: int
    minutes: float
    right: float
    end: str

    @property
    def fixed(self) -> bool:
        """True if the complaint went away."""
        return self.end == GONE

    @property
    def given_away(self) -> bool:
        """True if the guess was a repair that only a specialist may do."""
        return self.end == SPECIALIST


def walks_after(knowledge: KnowledgeBase, car: HiddenCar) -> tuple[Walk, ...]:
    """The walk after each step of the program's path; the last one is where the case can be closed."""
    path = car.path
    after = [played.walk for played in path[1:]]
    if path:
        after.append(_after_last(knowledge, car, path))
    return tuple(after)


def _after_last(knowledge: KnowledgeBase, car: HiddenCar, path: tuple[Played, ...]) -> Walk:
    """The last step answered by the same person on the same car, repairs done before included."""
    person = Person(car_of(knowledge, car.comeback), "bay")
    walk = path[0].walk
    for played in path:  # every answer is a named draw, so going the path again gives the same
        _, walk = respond(played.walk, played.step, person)
    return walk


def by_guess(knowledge: KnowledgeBase, car: HiddenCar) -> ByGuess | None:
    """How the beginner would have fared; None if no repair fits the complaint."""
    done = by_repair_order(car.start, Person(car_of(knowledge, car.comeback), "bay"), Lists())
    repairs = tuple(one.repair for one in done.walk.case.repairs)
    if done.how == SPECIALIST and done.last:
        repairs = (*repairs, done.last)
    if not repairs:
        return None
    try:
        chances = dict(car.start.situation.repair_candidates(0.0))
    except EngineError:
        chances = {}
    removes = knowledge.repairs[repairs[0]].removes
    right = max((chances.get(cause, 0.0) * chance for cause, chance in removes.items()), default=0.0)
    idle = needless_repairs(knowledge, car.comeback, list(repairs))
    return ByGuess(repairs, idle, done.minutes, right, done.how)


def repairs_of(car: HiddenCar) -> tuple[str, ...]:
    """The repairs on the program's path, in order."""
    return tuple(played.step.repair for played in car.path if isinstance(played.step, steps.DoRepair))
