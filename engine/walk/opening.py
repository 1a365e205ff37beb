"""The opening of a case: which service, what the customer reports, danger signs; before any belief is asked."""

from collections.abc import Sequence

from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.case.case import Case
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.disposition import red_flag_floor, ruling_for
from comeback.engine.walk.steps import ChooseComplaint, ChooseService, DangerScreen, Step
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience, Disposition, EngineOff, Tier

MOST_SIGNS = 6
"""Danger signs on one screen; several complaints may have more, those to people first."""


def opening(view: CaseView) -> Step | None:
    """Service, complaint and danger signs, before any belief is asked; None when they are done."""
    case, knowledge = view.case, view.knowledge
    service = ChooseService(tuple(knowledge.services)) if _service_due(view) else None
    if not view.complaints:
        return service or ChooseComplaint(fitting_complaints(knowledge, case))
    if case.repairs and (view.audience is Audience.PHONE or view.engine_off):
        return service
    if view.audience is Audience.PHONE and _stated_floor(view) >= Disposition.GET_CLEAR:
        return None  # nothing is asked of people beside a fire: no answer changes what they are told
    flags = [flag for flag in view.signs if _unanswered(view, flag)]
    if flags and view.audience is Audience.PHONE and _sent_away_anyway(view, flags):
        return None  # nor of people in the smell of gasoline
    return _danger_screen(view, flags) or _unsure_signs(view) or service


def _sent_away_anyway(view: CaseView, flags: Sequence[str]) -> bool:
    """True if the complaint alone sends people away from the car, and would with every danger sign answered "no"."""
    if view.ruling.advice < Disposition.GET_CLEAR:
        return False
    knowledge, evidence = view.knowledge, view.evidence
    calm = Evidence((*evidence.sightings, *(Sighting(flag, 0) for flag in flags)), evidence.removals)
    results = view.results | {flag: knowledge.checks[flag].expected for flag in flags}
    return ruling_for(knowledge, view.network, calm, results, stated=view.stated).advice >= Disposition.GET_CLEAR


def fitting_complaints(knowledge: KnowledgeBase, case: Case) -> tuple[str, ...]:
    """Complaints that may follow what was done; all of them while that is not known."""
    return tuple(complaint.id for complaint in knowledge.complaints.values() if complaint.after(case.services))


def main_first(knowledge: KnowledgeBase, complaints: Sequence[str]) -> tuple[str, ...]:
    """The complaints with the main one first: the most dangerous, else what the fewest cars do for no known reason."""

    def rank(name: str) -> tuple[int, float]:
        told = [(knowledge.checks[c], result) for c, result in knowledge.complaints[name].reports.items()]
        least = max(
            (check.red_flag.get(result, Disposition.WATCH) for check, result in told), default=Disposition.WATCH
        )
        rare = min((knowledge.leak(c.id)[c.names.index(result)] for c, result in told), default=1.0)
        return -least, rare

    return tuple(sorted(dict.fromkeys(complaints), key=rank))


def _service_due(view: CaseView) -> bool:
    """Not known, and this audience has not said yet that it cannot tell: the bay has the work order."""
    case = view.case
    return not case.services and case.service_unknown is not view.audience


def _stated_floor(view: CaseView) -> Disposition:
    """The least advice that the danger signs known so far allow, without those that nobody could tell."""
    known = {check: result for check, result in view.results.items() if result is not None}
    return red_flag_floor(view.knowledge, known)[0]


def _danger_screen(view: CaseView, flags: list[str]) -> DangerScreen | None:
    """The danger signs to look for now: in the bay first those with the engine off, then, if it may run, the rest."""
    if view.audience is Audience.BAY:
        quiet = [flag for flag in flags if not view.knowledge.checks[flag].runs_engine]
        flags = quiet or ([] if view.engine_off else flags)
    people_first = sorted(flags, key=lambda flag: view.knowledge.checks[flag].tier > Tier.PEOPLE)
    return DangerScreen(tuple(flags if len(flags) <= MOST_SIGNS else people_first[:MOST_SIGNS])) if flags else None


def _unsure_signs(view: CaseView) -> DangerScreen | None:
    """Danger signs that nobody could tell, asked once more; nobody waits for that beside a burning car.

    A "don't know" counts as the worse answer, so it is worth half a minute to have them look. In the bay only those
    with which switching on or cranking destroys something, as reversed battery cables.
    """
    checks, bay = view.knowledge.checks, view.audience is Audience.BAY
    known = {check for check, result in view.results.items() if result is not None}
    unsure = [sign for sign in view.signs if sign not in known and view.unknown(sign) == 1]
    if bay:
        spoilt = [sign for sign in unsure if EngineOff.REPAIRED in checks[sign].engine_off.values()]
        unsure = [sign for sign in spoilt if view.makes_sense(checks[sign])]
    if not unsure or _stated_floor(view) >= Disposition.GET_CLEAR:
        return None
    return DangerScreen(tuple(unsure), retry=True)


def _unanswered(view: CaseView, check: str) -> bool:
    """Possible on this car and not known yet; a caller's "don't know" is asked again at the car."""
    entry = view.knowledge.checks[check]
    if check not in view.network.observables or view.audience not in entry.audience or not view.makes_sense(entry):
        return False
    answer = view.case.answer(check)
    if answer is None:
        return check not in view.results
    return answer.result is None and answer.audience is not view.audience
