"""A worked example beyond the program's path: how a beginner would have fared on the same car."""

from dataclasses import dataclass

from comeback.engine.drill.hidden_car import HiddenCar
from comeback.engine.errors import EngineError
from comeback.engine.rehearsal.fixed_orders import GONE, SPECIALIST, Lists, by_repair_order
from comeback.engine.rehearsal.rehearsal import needless_repairs
from comeback.engine.rehearsal.simulation import Person, car_of
from comeback.kb.schema import KnowledgeBase


@dataclass(frozen=True)
class ByGuess:
    """The hidden car repaired by the likeliest guess, one after the other, without a check.

    `right`: the chance of the first guess by the complaint alone. `fixed`: the complaint went away.
    `given_away`: the guess was a repair that only a specialist may do.
    """

    repairs: tuple[str, ...]
    needless: int
    minutes: float
    right: float
    fixed: bool
    given_away: bool


def by_guess(knowledge: KnowledgeBase, car: HiddenCar) -> ByGuess | None:
    """How the beginner would have fared; None if no repair fits the complaint."""
    done = by_repair_order(car.start, Person(car_of(knowledge, car.comeback), "bay"), Lists())
    repairs = tuple(one.repair for one in done.walk.case.repairs)
    if done.how == SPECIALIST and done.last:
        repairs = (*repairs, done.last)
    if not repairs:
        return None
    try:
        chances = dict(car.start.view.repair_candidates(0.0))
    except EngineError:
        chances = {}
    removes = knowledge.repairs[repairs[0]].removes
    right = max((chances.get(cause, 0.0) * chance for cause, chance in removes.items()), default=0.0)
    idle = needless_repairs(knowledge, car.comeback, list(repairs))
    return ByGuess(repairs, idle, done.minutes, right, done.how == GONE, done.how == SPECIALIST)
