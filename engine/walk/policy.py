"""The only place that picks the next step; the live walk and the compiled decision graph both call it.

Order: what was done and what is wrong, then the red flags, then a pending proof, then the check
that saves more minutes of repair than it costs - the lowest hazard tier first, the best rate inside
it - then the repair with the best chance per minute, and handing over when neither pays.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from comeback.engine.belief.cause_sets import CauseSets
from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.case.case import AGREED, Case
from comeback.engine.choosing.next_check import best_check, chance_of_cure
from comeback.engine.choosing.valuation import CheckOption, Valuation, value_options
from comeback.engine.choosing.value_of_information import value_of_information
from comeback.engine.errors import ImpossibleFindings, TooManyFindings
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.closing import close_passed, proof_due, take_one_back
from comeback.engine.walk.disposition import loss_table, red_flag_floor, ruling_for
from comeback.engine.walk.look_round import look_round, may_open
from comeback.engine.walk.remedies import offered, settled, spared
from comeback.engine.walk.second_look import LEAST_SLIP, again, doubtful, second_look, seen_again
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
from comeback.kb.vocabulary import FEATURES, Audience, Disposition, EngineOff, Level, Tier

NOT_HERE = "no check or repair here is likely to find it faster than a specialist"
STAYS_OFF = "the engine must not run before a danger sign is explained, and nothing with the engine off explains it"
NOT_SEEN = "it does not show here: ask the customer when it does, and try it then"
LEAST_CURE = 0.1
"""A repair less likely to help than this is a guess, however cheap; judged."""
LEAST_BEHIND, SHOWS = 0.01, 0.5
"""A cause this likely may be behind a danger sign; a check abnormal with it this often would show it. Judged."""
GONE_UNEXPLAINED = "it was a danger and does not show now: keep the car until somebody finds out why"
MOST_SIGNS = 6
"""Danger signs on one screen; several complaints may have more, those to people first."""
MOST_AFTER_ADVICE = 3
"""Questions for the bay once the caller knows what to do; judged."""
TRIED_FIRST = 4.0
"""Minutes of visits that what a caller may do alone spares, for each minute of it, to come before questions; judged."""
PHONE_QUESTIONS = 7
"""Questions to a caller after the red flags; a call is to end within four minutes; judged."""
PHONE_QUESTIONS_WHEN_TOWED = 3
"""Questions to a caller while only the belief speaks for a tow; with a danger sign that asks for one, none at all."""


def next_step(knowledge: KnowledgeBase, case: Case, audience: Audience) -> Step:
    """The next step of the walk for this audience."""
    view = CaseView(knowledge, case, audience)
    try:
        return _ended(view) or _opening(view) or _chosen(view)
    except ImpossibleFindings:
        return take_one_back(view)
    except TooManyFindings as error:
        return HandOver(str(error))


def _chosen(view: CaseView) -> Step:
    """What comes after complaint and danger signs, for each audience."""
    car = view.not_covered
    if car is not None and view.audience is Audience.BAY:
        return HandOver(f"{car.name}: this guide does not cover it. It goes to {car.hand_to}", None, car.cautions)
    if _kind_of_car_matters(view):
        return ChooseCondition("drive", FEATURES["drive"])
    return _phone_step(view) if view.audience is Audience.PHONE else _bay_step(view)


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


def _opening(view: CaseView) -> Step | None:
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
    return tuple(
        c.id
        for c in knowledge.complaints.values()
        if not c.services or not case.services or not set(c.services).isdisjoint(case.services)
    )


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
    """Danger signs that the caller could not tell, asked once more; nobody waits for that beside a burning car.

    A "don't know" counts as the worse answer, so it is worth half a minute to have them look.
    """
    if view.audience is not Audience.PHONE:
        return None
    known = {check for check, result in view.results.items() if result is not None}
    unsure = [sign for sign in view.signs if sign not in known and view.unknown(sign) == 1]
    if not unsure or _stated_floor(view) >= Disposition.GET_CLEAR:
        return None
    return DangerScreen(tuple(unsure), retry=True)


def _unanswered(view: CaseView, check: str) -> bool:
    """Not known yet; a caller's "don't know" is asked again at the car."""
    entry = view.knowledge.checks[check]
    if check not in view.network.observables or view.audience not in entry.audience:
        return False
    answer = view.case.answer(check)
    if answer is None:
        return check not in view.results
    return answer.result is None and answer.audience is not view.audience


def _phone_step(view: CaseView) -> Step:
    """The question worth most to the advice and the repair, within the few minutes of a call; else the advice."""
    ruling, checks = view.ruling, view.knowledge.checks
    if view.gone or view.not_covered:
        return advise(view)
    asked = sum(1 for a in view.case.answers if a.check not in view.signs)
    limit = PHONE_QUESTIONS_WHEN_TOWED if ruling.advice >= Disposition.TOW else PHONE_QUESTIONS
    open_ = ruling.floor < Disposition.TOW and ruling.advice < Disposition.GET_CLEAR
    askable = [name for name in view.askable() if (offered(view, checks[name]) if checks[name].remedy else open_)]
    if askable and asked < limit and settled(view) is None:
        best = _question(view, _with_losses(view, _valuation(view, askable)))
        if best is not None:
            return _make_check(view, best)
    return advise(view)


def _question(view: CaseView, valuation: Valuation) -> CheckOption | None:
    """What the caller may do alone and spares most visits for its minutes, if that pays; else the best question."""
    rates = {option: spared(view, valuation, option) / option.minutes for option in valuation.options}
    first = max(rates, key=lambda option: rates[option], default=None)
    return first if first is not None and rates[first] > TRIED_FIRST else best_check(valuation)


def after_advice(view: CaseView) -> MakeCheck | None:
    """What only the customer knows and saves the bay twice its minutes, asked once the caller knows what to do.

    None while people are in danger, after a call that was solved, and once MOST_AFTER_ADVICE were asked.
    """
    told, checks = view.case.last_told, view.knowledge.checks
    if told is None or view.case.disposition is None or view.case.solved or told.how != AGREED:
        return None
    if view.gone or view.not_covered:
        return None
    towed = Disposition.of(told.disposition) >= Disposition.TOW
    danger = towed and any(checks[flag].tier is Tier.PEOPLE for flag in view.ruling.flags)
    asked = sum(answer.number > told.number for answer in view.case.answers)
    history = [name for name in view.askable() if checks[name].asks_customer]
    if danger or told.disposition == Disposition.GET_CLEAR.word or asked >= MOST_AFTER_ADVICE or not history:
        return None
    best = max(_valuation(view, history).options, key=lambda option: option.net, default=None)
    return (
        MakeCheck(best.checks[0], best.minutes, best.gain, best.chances) if best and best.net > best.minutes else None
    )


def advise(view: CaseView) -> Advise:
    """The advice that follows from what is known, with its grounds and what the caller does first."""
    ruling, remedy = view.ruling, settled(view)
    if remedy is not None:
        return Advise(Disposition.WATCH, Disposition.WATCH, (), ruling.needed, solved=remedy.id)
    first = view.before_driving if ruling.advice <= Disposition.COME_IN else ()
    return Advise(ruling.advice, ruling.floor, ruling.flags, ruling.needed, first)


def _with_losses(view: CaseView, valuation: Valuation) -> Valuation:
    """A question on the phone is also worth what it improves the advice on driving, and the visit it spares."""
    utility = advice_utility(view.knowledge, valuation.sets)
    options = []
    for option in valuation.options:
        table = valuation.node.decision.tables[:, valuation.node.decision.slices[valuation.numbers[option.checks]]]
        told = value_of_information(valuation.sets.weights, table, utility)
        options.append(replace(option, gain=option.gain + told + spared(view, valuation, option)))
    return replace(valuation, options=tuple(options))


def advice_utility(knowledge: KnowledgeBase, sets: CauseSets) -> np.ndarray:
    """Loss in minutes of each advice on driving for each set of causes, below 0; shape (advice, S)."""
    # Whole numbers even if no cause is live: they index the losses below.
    drive = np.array([knowledge.causes[sets.belief.network.causes[c]].drive for c in sets.live], dtype=np.intp)
    need = np.where(sets.now, drive, -1).max(axis=1, initial=-1)
    return np.asarray(-loss_table(knowledge)[:, np.where(need < 0, Disposition.BOOK, need)])


def _bay_step(view: CaseView) -> Step:
    """A proof that is due, else the best check (with the engine off while a sign says so), else the best repair."""
    pending = proof_due(view)
    if pending is not None:
        return pending
    if view.passed:
        return _last_look(view) or close_passed(view)
    quiet = _valuation(view, running=False) if view.engine_off else None
    best = best_check(quiet, _behind_signs(view)) if quiet else None
    valuation = quiet if quiet and (best or _never(view)) else _valuation(view)
    if best is None or best.tier > Tier.PEOPLE:
        best = _opening_look(view, quiet or valuation) or best or best_check(valuation)
    if best is not None:
        before = _doubt_first(view, valuation, best) or _condition_first(view, best.checks[0])
        return before or look_round(view, valuation, best) or _make_check(view, best)
    return HandOver(GONE_UNEXPLAINED) if view.gone else _repair_step(view, valuation)


def _last_look(view: CaseView) -> MakeCheck | ReadPanel | None:
    """The one look where trouble that has passed can hide a slip, if it was not made yet."""
    looks = [look for complaint in view.complaints for look in complaint.once_gone]
    options = _valuation(view).options if looks else ()
    found = (option for look in looks for option in options if look in (option.panel, *option.checks))
    option = next(found, None)
    return _make_check(view, option) if option else None


def _doubt_first(view: CaseView, valuation: Valuation, best: CheckOption) -> MakeCheck | None:
    """A finding to look at again before `best`, where that is worth more: what was overlooked hides behind long lists.

    Not before the opening looks, not the complaint itself or a proof, and nothing that a technician would not look at
    twice before short work.
    """
    if any(name in (best.panel, *best.checks) for name in view.openings):
        return None
    stake = valuation.plan.expected_minutes
    last = view.case.repairs[-1:]
    left_out = {*view.stated, *(view.knowledge.repairs[done.repair].proof.check for done in last)}
    given = (one for one in doubtful(view, stake=0.0) if one.answer.check not in left_out)
    doubts = [one for one in given if one.slip >= LEAST_SLIP]
    worth = [(one.slip * stake - one.minutes, one.answer.check, one) for one in doubts]
    gain, _, doubt = max(worth, default=(0.0, "", None))
    return again(view, doubt) if doubt is not None and gain > best.net else None


def _opening_look(view: CaseView, valuation: Valuation) -> CheckOption | None:
    """The first opening look that may show something of what is likely here, and is not known yet."""
    for name in view.openings:
        for option in valuation.options:
            if may_open(option, name):
                return option
    return None


def _behind_signs(view: CaseView) -> frozenset[str]:
    """Checks by themselves, no lists of codes, that would show a cause which may be behind a standing danger sign."""
    causes, checks, belief = view.knowledge.causes, view.knowledge.checks, view.belief
    likely = (causes[belief.network.causes[c]] for c in belief.live if belief.present[c] >= LEAST_BEHIND)
    behind = [cause for cause in likely if not view.engine_off.keys().isdisjoint(cause.shows)]
    chances = view.knowledge.chances
    shown = (name for c in behind for name in c.shows if 1 - chances(c.id, name)[0] >= SHOWS)
    return frozenset(name for name in shown if checks[name].panel is None)


def _never(view: CaseView) -> bool:
    """True if a danger sign stands with which the engine must not run before it is repaired."""
    return EngineOff.REPAIRED in view.engine_off.values()


def _valuation(
    view: CaseView, askable: list[str] | None = None, retry: bool = False, running: bool = True
) -> Valuation:
    """What could be done now; without `running` nothing that runs the engine. `askable`: the checks to look at."""
    checks, repairs, known = view.askable(retry) if askable is None else askable, view.repairs(), view.knowledge
    if not running:
        checks = [name for name in checks if not known.checks[name].runs_engine]
        repairs = [name for name in repairs if not view.runs_engine(name)]
    return value_options(
        known, view.network, view.evidence, checks, repairs, view.standing_set_ups(), view.sets,
        view.audience,
    )  # fmt: skip


def _make_check(view: CaseView, option: CheckOption) -> MakeCheck | ReadPanel:
    """The step for a chosen option: one check, or a panel on one screen."""
    checks = view.knowledge.checks
    new = view.missing(name for check in option.checks for name in checks[check].set_up)
    despite = view.despite(any(checks[check].runs_engine for check in option.checks))
    if option.panel is not None and len(option.checks) > 1:
        return ReadPanel(option.panel, option.checks, option.minutes, option.gain, new, despite)
    return MakeCheck(option.checks[0], option.minutes, option.gain, option.chances, new, despite=despite)


def _condition_first(view: CaseView, entry: str) -> ChooseCondition | None:
    """A vehicle condition that the chosen check or repair hangs on and nobody has asked."""
    case, known = view.case, view.knowledge
    chosen = known.checks.get(entry) or known.repairs[entry]
    unknown = (f for f in chosen.only_if if f not in dict(case.vehicle) and f not in case.unknown_conditions)
    feature = next(unknown, None)
    return ChooseCondition(feature, FEATURES[feature]) if feature else None


def _once_more(view: CaseView) -> Step | None:
    """Before giving the car away: look again at what fits the rest worst, try again what nobody could tell."""
    doubt = second_look(view, view.knowledge.settings.hand_over_minutes, giving_away=True)
    if doubt is not None:
        return doubt
    best = best_check(_valuation(view, retry=True, running=not _never(view)))
    if best is None:
        return None
    step = _make_check(view, best)
    return replace(step, retry=True) if isinstance(step, MakeCheck) and view.unknown(step.check) else step


def _repair_step(view: CaseView, valuation: Valuation) -> Step:
    """The first repair of the plan, unless it is a mere guess, a finding is doubtful, or a condition comes first."""
    if not valuation.plan.order:
        nothing = not view.evidence.abnormal
        return _once_more(view) or HandOver(NOT_SEEN if nothing else _not_here(view))
    first, *rest = valuation.plan.order
    action = next(a for a in valuation.actions if a.id == first)
    cures = chance_of_cure(valuation, action)
    if cures < LEAST_CURE:
        return _once_more(view) or HandOver(_not_here(view))
    doubt = second_look(view, action.minutes)
    if doubt is not None:
        return doubt
    asked = _condition_first(view, first)
    if asked is not None:
        return asked
    if view.knowledge.repairs[first].level is Level.SPECIALIST:
        return HandOver("this repair needs a specialist", first)
    entry, plan = view.knowledge.repairs[first], valuation.plan
    despite, new = view.despite(view.runs_engine(first)), view.missing(entry.set_up)
    return DoRepair(
        first, action.minutes, cures, plan.expected_minutes, tuple(rest[:3]), valuation.bound, despite, new,
        seen_again(view, first),
    )  # fmt: skip


def _not_here(view: CaseView) -> str:
    """The reason for handing over: the engine must stay off, or nothing here finds it faster."""
    return STAYS_OFF if _never(view) else NOT_HERE
