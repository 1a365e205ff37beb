"""Cars of drills chosen by what they hide, so that no test hangs on which car a seed happens to draw."""

from comeback.engine.drill.hidden_car import HiddenCar, hide_car
from comeback.engine.rehearsal.simulation import car_of
from comeback.kb.schema import KnowledgeBase


def car_hiding(knowledge: KnowledgeBase, cause: str, **results: str) -> HiddenCar:
    """The first car with only this cause behind its complaint, and with these results (check -> result)."""
    return next(_cars(knowledge, cause, results))


def _cars(knowledge, cause, results):
    for seed in range(400):
        car = hide_car(knowledge, seed)
        shown = car_of(knowledge, car.comeback)
        if car.behind == {cause} and all(shown.result(check) == result for check, result in results.items()):
            yield car
    raise AssertionError(f"no car among the seeds hides {cause} with {results}")
