"""A call: the question worth most to the advice and to the bay, then the advice, then what only the customer knows."""

from dataclasses import replace

import numpy as np

from comeback.engine.belief.cause_sets import CauseSets
from comeback.engine.case.case import AGREED
from comeback.engine.choosing.next_check import best_check
from comeback.engine.choosing.valuation import CheckOption, Valuation
from comeback.engine.choosing.value_of_information import value_of_information
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.disposition import loss_table
from comeback.engine.walk.open_now import make_check, valued
from comeback.engine.walk.remedies import offered, settled, spared
from comeback.engine.walk.steps import Advise, MakeCheck, Step
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Disposition, Tier

MOST_AFTER_ADVICE = 3
"""Questions for the bay once the caller knows what to do; judged."""
TRIED_FIRST = 4.0
"""Minutes of visits that what a caller may do alone spares, for each minute of it, to come before questions; judged."""
PHONE_QUESTIONS = 4
"""Questions to a caller after the red flags; a call is to end within four minutes; judged."""
PHONE_QUESTIONS_WHEN_TOWED = 3
"""Questions to a caller while only the belief speaks for a tow; with a danger sign that asks for one, none at all."""


def phone_step(view: CaseView) -> Step:
    """The question worth most to the advice and the repair, within the few minutes of a call; else the advice."""
    ruling, checks = view.ruling, view.knowledge.checks
    if view.gone or view.not_covered:
        return advise(view)
    asked = sum(1 for a in view.case.answers if a.check not in view.signs)
    limit = PHONE_QUESTIONS_WHEN_TOWED if ruling.advice >= Disposition.TOW else PHONE_QUESTIONS
    open_ = ruling.floor < Disposition.TOW and ruling.advice < Disposition.GET_CLEAR
    askable = [name for name in view.askable() if (offered(view, checks[name]) if checks[name].remedy else open_)]
    if askable and asked < limit and settled(view) is None:
        best = _question(view, _with_losses(view, valued(view, askable)))
        if best is not None:
            return make_check(view, best)
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
    best = max(valued(view, history).options, key=lambda option: option.net, default=None)
    return (
        MakeCheck(best.checks[0], best.minutes, best.gain, best.chances) if best and best.net > best.minutes else None
    )


def advise(view: CaseView) -> Advise:
    """The advice that follows from what is known, with its grounds and what the caller does first."""
    ruling, remedy = view.ruling, settled(view)
    if remedy is not None:
        return Advise(Disposition.WATCH, Disposition.WATCH, (), ruling.needed, solved=remedy.id)
    first = view.before_driving if view.advice <= Disposition.COME_IN else ()
    return Advise(view.advice, ruling.floor, ruling.flags, ruling.needed, first)


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
