"""The bay: a proof that is due, then the look that saves more minutes of repair than it costs, then the repair.

Of the looks the lowest hazard tier comes first, and in it the best rate; what shares its state of the car shares its
screen. When neither a look nor a repair pays, the car is handed over.
"""

from dataclasses import replace

import numpy as np

from comeback.engine.choosing.next_check import best_check, chance_of_cure
from comeback.engine.choosing.repair_sequence import Action
from comeback.engine.choosing.valuation import CheckOption, Valuation, set_up_minutes
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.closing import close_passed, proof_due
from comeback.engine.walk.confirmation import confirm_first
from comeback.engine.walk.look_round import look_round, may_open
from comeback.engine.walk.open_now import condition_first, make_check, valued
from comeback.engine.walk.second_look import LEAST_SLIP, again, doubtful, second_look, seen_again
from comeback.engine.walk.steps import DoRepair, HandOver, MakeCheck, ReadPanel, Step
from comeback.kb.schema import MEANT
from comeback.kb.vocabulary import EngineOff, Level, Tier

NOT_HERE = "no check or repair here is likely to find it faster than a specialist"
STAYS_OFF = "the engine must not run before a danger sign is explained, and nothing with the engine off explains it"
NOT_SEEN = "it does not show here: ask the customer when it does, and try it then"
LEAST_CURE = 0.1
"""A repair less likely to help than this is a guess, however cheap; judged."""
SURELY_THERE = 0.9
"""Chance from which a defect counts as found, and is repaired before the car is handed over; judged."""
LEAST_BEHIND, SHOWS = 0.01, 0.5
"""A cause this likely may be behind a danger sign; a check abnormal with it this often would show it. Judged."""
GONE_UNEXPLAINED = "it was a danger and does not show now: keep the car until somebody finds out why"


def bay_step(view: CaseView) -> Step:
    """A proof that is due, else the best check (with the engine off while a sign says so), else the best repair."""
    pending = proof_due(view)
    if pending is not None:
        return pending
    if view.passed:
        return _last_look(view) or close_passed(view)
    quiet, best = _quiet(view)
    valuation = quiet if quiet and (best or _never(view)) else valued(view)
    if best is None or best.tier > Tier.PEOPLE:
        best = _opening_look(view, quiet or valuation) or best or best_check(valuation)
    if best is not None:
        before = _doubt_first(view, valuation, best) or condition_first(view, best.checks[0])
        return before or look_round(view, valuation, best) or make_check(view, best)
    return HandOver(GONE_UNEXPLAINED) if view.gone else _repair_step(view, valuation)


def _quiet(view: CaseView) -> tuple[Valuation | None, CheckOption | None]:
    """What could be done while a sign keeps the engine off, with its best check; nothing if none does.

    With fuel or fire all that needs no ignition comes first.
    """
    quiet, best = None, None
    for power in (False, True) if view.burning else (True,) if view.engine_off else ():
        quiet = valued(view, running=False, power=power)
        best = best_check(quiet, _behind_signs(view))
        if best is not None:
            break
    return quiet, best


def _last_look(view: CaseView) -> MakeCheck | ReadPanel | None:
    """The one look where trouble that has passed can hide a slip, if it was not made yet."""
    looks = [look for complaint in view.complaints for look in complaint.once_gone]
    options = valued(view).options if looks else ()
    found = (option for look in looks for option in options if look in (option.panel, *option.checks))
    option = next(found, None)
    return make_check(view, option) if option else None


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


def _once_more(view: CaseView) -> Step | None:
    """Before giving the car away: look again at what fits the rest worst, try again what nobody could tell."""
    doubt = second_look(view, view.knowledge.settings.hand_over_minutes, giving_away=True)
    if doubt is not None:
        return doubt
    best = best_check(valued(view, retry=True, running=not _never(view)))
    if best is None:
        return None
    step = make_check(view, best)
    return replace(step, retry=True) if isinstance(step, MakeCheck) and view.unknown(step.check) else step


def _repair_step(view: CaseView, valuation: Valuation) -> Step:
    """The first repair of the plan, unless it is a mere guess, a finding is doubtful, or a condition comes first."""
    order = valuation.plan.order
    action = next((a for a in valuation.actions if a.id in order[:1]), None)
    found = action is None or chance_of_cure(valuation, action) < LEAST_CURE
    if found:
        action = _found_defect(view, valuation)
        order = (action.id,) if action else ()
    if action is None:
        waits = not view.evidence.abnormal
        return _once_more(view) or HandOver(NOT_SEEN if waits else _not_here(view), waits=waits)
    first, *rest = order
    doubt = second_look(view, action.minutes)
    if doubt is not None:
        return doubt
    asked = condition_first(view, first) or confirm_first(view, valuation, action) or _look_on_the_way(view, first)
    if asked is not None:
        return asked
    if view.knowledge.repairs[first].level is Level.SPECIALIST:
        return HandOver("this repair needs a specialist", first)
    entry, plan = view.knowledge.repairs[first], valuation.plan
    despite, new = view.despite(view.runs_engine(first)), view.missing(entry.set_up)
    cures = chance_of_cure(valuation, action)
    return DoRepair(
        first, action.minutes, cures, plan.expected_minutes, tuple(rest[:3]), valuation.bound, despite, new,
        seen_again(view, first), found,
    )  # fmt: skip


def _found_defect(view: CaseView, valuation: Valuation) -> Action | None:
    """The repair of what was surely found, though more than that is wrong: nobody hands over a leak he has seen."""
    present, live = view.belief.present, view.sets.live
    sure = np.array([present[cause] >= SURELY_THERE for cause in live], bool)
    known = view.knowledge.repairs
    fits = [
        a for a in valuation.actions if known[a.id].level is not Level.SPECIALIST and (a.cures[sure] >= MEANT).any()
    ]
    return min(fits, key=lambda action: (action.minutes, action.id), default=None)


def _look_on_the_way(view: CaseView, repair: str) -> Step | None:
    """A look that pays once the car is set up for the repair: on the lift, the drain plug before the splash shield."""
    set_up = {*view.missing(view.knowledge.repairs[repair].set_up)}
    if not set_up:
        return None
    ready = valued(view, running=not view.engine_off, paid=set_up)
    best = best_check(ready)
    if best is None or set_up.isdisjoint(name for check in best.checks for name in view.knowledge.checks[check].set_up):
        return None
    step = look_round(view, ready, best) or make_check(view, best)
    new = view.missing(name for check in best.checks for name in view.knowledge.checks[check].set_up)
    minutes = step.minutes + set_up_minutes(view.knowledge, new, ())
    return condition_first(view, best.checks[0]) or replace(step, minutes=minutes)


def _not_here(view: CaseView) -> str:
    """The reason for handing over: the engine must stay off, or nothing here finds it faster."""
    return STAYS_OFF if _never(view) else NOT_HERE
