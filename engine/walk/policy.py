"""The only place that picks the next step; the live walk and the compiled decision graph both call it.

Order: what was done and what is wrong, then the red flags, then a pending proof, then the check
that saves more minutes of repair than it costs - the lowest hazard tier first, the best rate inside
it - then the repair with the best chance per minute, and handing over when neither pays.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from comeback.engine.belief.cause_sets import Hypotheses
from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.case.case import Case
from comeback.engine.choosing.next_check import best_check, chance_of_cure
from comeback.engine.choosing.valuation import CheckOption, Outlook, look_ahead
from comeback.engine.choosing.value_of_information import value_of_information
from comeback.engine.errors import ImpossibleFindings, TooManyFindings
from comeback.engine.walk.closing import proof_due, take_one_back
from comeback.engine.walk.disposition import loss_table, red_flag_floor, rule
from comeback.engine.walk.second_look import second_look
from comeback.engine.walk.situation import Situation
from comeback.engine.walk.steps import (
    Advise,
    ChooseComplaint,
    ChooseCondition,
    ChooseService,
    DangerScreen,
    DoRepair,
    Finished,
    HandOver,
    MakeCheck,
    ReadPanel,
    Step,
)
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import FEATURES, Audience, Disposition, EngineOff, Level

NOT_HERE = "no check or repair here is likely to find it faster than a specialist"
STAYS_OFF = "the engine must not run before a danger sign is explained, and nothing with the engine off explains it"
NOT_SEEN = "it does not show here: ask the customer when it does, and try it then"
LEAST_CURE = 0.05
"""A repair less likely to help than this is a guess, however cheap."""
LEAST_BEHIND, SHOWS = 0.01, 0.5
"""A cause this likely may be behind a danger sign; a check abnormal with it this often would show it. Judged."""
PHONE_QUESTIONS = 7
"""Questions to a caller after the red flags; a call is to end within four minutes."""
PHONE_QUESTIONS_WHEN_TOWED = 3
"""Questions to a caller while only the belief speaks for a tow; with a danger sign that asks for one, none at all."""


def next_step(knowledge: KnowledgeBase, case: Case, audience: Audience) -> Step:
    """The next step of the walk for this audience."""
    situation = Situation(knowledge, case, audience)
    try:
        return _ended(situation) or _opening(situation) or _chosen(situation)
    except ImpossibleFindings:
        return take_one_back(situation)
    except TooManyFindings as error:
        return HandOver(str(error))


def _chosen(situation: Situation) -> Step:
    return _phone_step(situation) if situation.audience is Audience.PHONE else _bay_step(situation)


def _ended(situation: Situation) -> Step | None:
    case = situation.case
    if case.closed is not None:
        return Finished("closed")
    if case.handed_over is not None:
        return Finished("handed over")
    if situation.audience is Audience.PHONE and case.disposition is not None:
        return Finished("advised")
    return None


def _opening(situation: Situation) -> Step | None:
    case, knowledge = situation.case, situation.knowledge
    complaint = situation.complaint
    service = ChooseService(tuple(knowledge.services)) if _service_due(situation) else None
    if complaint is None:
        return service or ChooseComplaint(fitting_complaints(knowledge, case))
    if case.repairs and (situation.audience is Audience.PHONE or situation.engine_off):
        return service
    if situation.audience is Audience.PHONE and _stated_floor(situation) >= Disposition.GET_CLEAR:
        return None  # nothing is asked of people beside a fire: no answer changes what they are told
    flags = [flag for flag in situation.signs if _unanswered(situation, flag)]
    if flags and situation.audience is Audience.PHONE and _sent_away_anyway(situation, flags):
        return None  # nor of people in the smell of gasoline
    return _danger_screen(situation, flags) or _unsure_signs(situation) or service


def _sent_away_anyway(situation: Situation, flags: Sequence[str]) -> bool:
    """True if the complaint alone sends people away from the car, and would with every danger sign answered "no"."""
    if situation.ruling.advice < Disposition.GET_CLEAR:
        return False
    knowledge, evidence = situation.knowledge, situation.evidence
    calm = Evidence((*evidence.sightings, *(Sighting(flag, 0) for flag in flags)), evidence.removals)
    results = situation.results | {flag: knowledge.checks[flag].expected for flag in flags}
    return rule(knowledge, situation.network, calm, results, stated=situation.stated).advice >= Disposition.GET_CLEAR


def fitting_complaints(knowledge: KnowledgeBase, case: Case) -> tuple[str, ...]:
    """Complaints that may follow what was done; all of them while that is not known."""
    return tuple(
        c.id
        for c in knowledge.complaints.values()
        if not c.services or not case.services or not set(c.services).isdisjoint(case.services)
    )


def _service_due(situation: Situation) -> bool:
    """Not known, and this audience has not said yet that it cannot tell: the bay has the work order."""
    case = situation.case
    return not case.services and case.service_unknown is not situation.audience


def _stated_floor(situation: Situation) -> Disposition:
    """The least advice that the danger signs known so far allow, without those that nobody could tell."""
    known = {check: result for check, result in situation.results.items() if result is not None}
    return red_flag_floor(situation.knowledge, known)[0]


def _danger_screen(situation: Situation, flags: list[str]) -> DangerScreen | None:
    """The danger signs to look for now: in the bay first those with the engine off, then, if it may run, the rest."""
    if situation.audience is Audience.BAY:
        quiet = [flag for flag in flags if not situation.knowledge.checks[flag].runs_engine]
        flags = quiet or ([] if situation.engine_off else flags)
    return DangerScreen(tuple(flags)) if flags else None


def _unsure_signs(situation: Situation) -> DangerScreen | None:
    """Danger signs that the caller could not tell, asked once more; nobody waits for that beside a burning car.

    A "don't know" counts as the worse answer, so it is worth half a minute to have them look.
    """
    if situation.audience is not Audience.PHONE:
        return None
    known = {check for check, result in situation.results.items() if result is not None}
    unsure = [sign for sign in situation.signs if sign not in known and situation.unknown(sign) == 1]
    if not unsure or _stated_floor(situation) >= Disposition.GET_CLEAR:
        return None
    return DangerScreen(tuple(unsure), retry=True)


def _unanswered(situation: Situation, check: str) -> bool:
    """Not known yet; a caller's "don't know" is asked again at the car."""
    entry = situation.knowledge.checks[check]
    if check not in situation.network.observables or situation.audience not in entry.audience:
        return False
    answer = situation.case.answer(check)
    if answer is None:
        return check not in situation.results
    return answer.result is None and answer.audience is not situation.audience


def _phone_step(situation: Situation) -> Step:
    ruling = situation.ruling
    asked = sum(1 for a in situation.case.answers if a.check not in situation.signs)
    limit = PHONE_QUESTIONS_WHEN_TOWED if ruling.advice >= Disposition.TOW else PHONE_QUESTIONS
    if ruling.floor < Disposition.TOW and ruling.advice < Disposition.GET_CLEAR and asked < limit:
        best = best_check(_with_losses(situation, _outlook(situation)))
        if best is not None:
            return _make_check(situation, best)
    return advise(situation)


def advise(situation: Situation) -> Advise:
    """The advice that follows from what is known, with its grounds and what the caller does first."""
    ruling = situation.ruling
    first = situation.before_driving if ruling.advice <= Disposition.COME_IN else ()
    return Advise(ruling.advice, ruling.floor, ruling.flags, ruling.needed, first)


def _with_losses(situation: Situation, outlook: Outlook) -> Outlook:
    """A question on the phone is also worth what it improves the advice on driving."""
    utility = advice_utility(situation.knowledge, outlook.sets)
    options = []
    for option in outlook.options:
        table = outlook.node.problem.tables[:, outlook.node.problem.slices[outlook.numbers[option.checks]]]
        options.append(replace(option, gain=option.gain + value_of_information(outlook.sets.weights, table, utility)))
    return replace(outlook, options=tuple(options))


def advice_utility(knowledge: KnowledgeBase, sets: Hypotheses) -> np.ndarray:
    """Loss in minutes of each advice on driving for each set of causes, below 0; shape (advice, S)."""
    # Whole numbers even if no cause is live: they index the losses below.
    drive = np.array([knowledge.causes[sets.belief.network.causes[c]].drive for c in sets.live], dtype=np.intp)
    need = np.where(sets.now, drive, -1).max(axis=1, initial=-1)
    return np.asarray(-loss_table(knowledge)[:, np.where(need < 0, Disposition.BOOK, need)])


def _bay_step(situation: Situation) -> Step:
    pending = proof_due(situation)
    if pending is not None:
        return pending
    quiet = _outlook(situation, running=False) if situation.engine_off else None
    best = best_check(quiet, _behind_signs(situation)) if quiet else None
    outlook = quiet if quiet and (best or _never(situation)) else _outlook(situation)
    best = best or best_check(outlook)
    if best is not None:
        return _condition_first(situation, best.checks[0]) or _make_check(situation, best)
    return _repair_step(situation, outlook)


def _behind_signs(situation: Situation) -> frozenset[str]:
    """Checks by themselves, no lists of codes, that would show a cause which may be behind a standing danger sign."""
    causes, checks, belief = situation.knowledge.causes, situation.knowledge.checks, situation.belief
    likely = (causes[belief.network.causes[c]] for c in belief.live if belief.present[c] >= LEAST_BEHIND)
    behind = [cause for cause in likely if not situation.engine_off.keys().isdisjoint(cause.shows)]
    chances = situation.knowledge.chances
    shown = (name for c in behind for name in c.shows if 1 - chances(c.id, name)[0] >= SHOWS)
    return frozenset(name for name in shown if checks[name].panel is None)


def _never(situation: Situation) -> bool:
    """True if a danger sign stands with which the engine must not run before it is repaired."""
    return EngineOff.REPAIRED in situation.engine_off.values()


def _outlook(situation: Situation, retry: bool = False, running: bool = True) -> Outlook:
    """What could be done now; without `running` nothing that runs the engine."""
    checks, repairs, known = situation.askable(retry), situation.repairs(), situation.knowledge
    if not running:
        checks = [name for name in checks if not known.checks[name].runs_engine]
        repairs = [name for name in repairs if not situation.runs_engine(name)]
    return look_ahead(
        known, situation.network, situation.evidence, checks, repairs, situation.standing_set_ups(), situation.sets
    )


def _make_check(situation: Situation, option: CheckOption) -> MakeCheck | ReadPanel:
    checks = situation.knowledge.checks
    new = situation.missing(name for check in option.checks for name in checks[check].set_up)
    despite = situation.despite(any(checks[check].runs_engine for check in option.checks))
    if option.panel is not None and len(option.checks) > 1:
        return ReadPanel(option.panel, option.checks, option.minutes, option.gain, new, despite)
    return MakeCheck(option.checks[0], option.minutes, option.gain, option.chances, new, despite=despite)


def _condition_first(situation: Situation, entry: str) -> ChooseCondition | None:
    """A vehicle condition that the chosen check or repair, or a leading cause, hangs on and nobody has asked."""
    knowledge, case = situation.knowledge, situation.case
    chosen = knowledge.checks.get(entry) or knowledge.repairs.get(entry)
    leading = [knowledge.causes[cause].only_if for cause, _ in situation.repair_candidates(0.05)]
    known = dict(case.vehicle)
    for condition in [chosen.only_if if chosen else {}, *leading]:
        for feature in condition:
            if feature not in known and feature not in case.unknown_conditions:
                return ChooseCondition(feature, FEATURES[feature])
    return None


def _once_more(situation: Situation) -> Step | None:
    """Before giving the car away: look again at what fits the rest worst, try again what nobody could tell."""
    doubt = second_look(situation, situation.knowledge.settings.hand_over_minutes, giving_away=True)
    if doubt is not None:
        return doubt
    best = best_check(_outlook(situation, retry=True, running=not _never(situation)))
    if best is None:
        return None
    step = _make_check(situation, best)
    return replace(step, retry=True) if isinstance(step, MakeCheck) and situation.unknown(step.check) else step


def _repair_step(situation: Situation, outlook: Outlook) -> Step:
    if not outlook.plan.order:
        nothing = not situation.evidence.abnormal
        return _once_more(situation) or HandOver(NOT_SEEN if nothing else _not_here(situation))
    first, *rest = outlook.plan.order
    action = next(a for a in outlook.actions if a.id == first)
    cures = chance_of_cure(outlook, action)
    if cures < LEAST_CURE:
        return _once_more(situation) or HandOver(_not_here(situation))
    doubt = second_look(situation, action.minutes)
    if doubt is not None:
        return doubt
    asked = _condition_first(situation, first)
    if asked is not None:
        return asked
    if situation.knowledge.repairs[first].level is Level.SPECIALIST:
        return HandOver("this repair needs a specialist", first)
    entry, plan = situation.knowledge.repairs[first], outlook.plan
    despite, new = situation.despite(situation.runs_engine(first)), situation.missing(entry.set_up)
    return DoRepair(first, action.minutes, cures, plan.expected_minutes, tuple(rest[:3]), outlook.bound, despite, new)


def _not_here(situation: Situation) -> str:
    return STAYS_OFF if _never(situation) else NOT_HERE
