"""The only place that picks the next step, for the prompt, drills and rehearsals alike.

Order: an ended case; the opening with its danger signs; then the phone's or the bay's own step.
"""

from comeback.engine.errors import ImpossibleFindings, TooManyFindings
from comeback.engine.walk.bay_step import bay_step
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.closing import take_one_back
from comeback.engine.walk.opening import opening
from comeback.engine.walk.phone_step import phone_step
from comeback.engine.walk.remedies import settled
from comeback.engine.walk.steps import ChooseCondition, Finished, HandOver, Step
from comeback.kb.vocabulary import FEATURES, Audience, Disposition


def next_step(view: CaseView) -> Step:
    """The next step of the walk for the audience of this view."""
    try:
        return _ended(view) or opening(view) or _chosen(view)
    except ImpossibleFindings:
        return take_one_back(view)
    except TooManyFindings as error:
        return HandOver(str(error))


def _ended(view: CaseView) -> Step | None:
    """The last step, if the case is over for this audience."""
    case = view.case
    if case.closed is not None:
        return Finished("closed")
    if case.handed_over is not None:
        return Finished("handed over")
    if view.audience is Audience.PHONE and case.disposition is not None:
        return Finished("advised")
    return None


def _chosen(view: CaseView) -> Step:
    """What comes after complaint and danger signs, for each audience."""
    car = view.not_covered
    if car is not None and view.audience is Audience.BAY:
        return HandOver(f"{car.name}: this guide does not cover it. It goes to {car.hand_to}", None, car.cautions)
    if _kind_of_car_matters(view):
        return ChooseCondition("drive", FEATURES["drive"])
    return phone_step(view) if view.audience is Audience.PHONE else bay_step(view)


def _kind_of_car_matters(view: CaseView) -> bool:
    """True if nobody has said what drives the car, it may be a kind that is not covered, and that changes what is said.

    It does not if a danger sign, a remedy or trouble that has passed ends the call, nor in the bay once it has passed.
    """
    known, case = view.knowledge, view.case
    if "drive" in dict(case.vehicle) or "drive" in case.unknown_conditions or case.repairs:
        return False
    done = [
        known.services[name].only_if.get("drive", FEATURES["drive"]) for name in case.services if name in known.services
    ]
    may_be = known.not_covered.keys() & set(FEATURES["drive"]).intersection(*done)
    by_phone = view.audience is Audience.PHONE
    ends = by_phone and (view.gone or view.ruling.floor >= Disposition.TOW or settled(view) is not None)
    return bool(may_be) and not ends and not view.passed
