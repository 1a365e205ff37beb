"""Which looks share a screen with the chosen one: those made in the same state of the car, with few cautions."""

from comeback.engine.choosing.rounds import round_of
from comeback.engine.choosing.valuation import CheckOption, Valuation
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.steps import LookRound
from comeback.kb.schema import Check
from comeback.kb.vocabulary import SignalWord, Tier

LONG_LOOK = 4.0
"""Minutes of a look that is still one row of a round; judged."""
MOST_CAUTIONS = 3
"""Cautions above one round, more only if the first look has them; judged by what fits the screen."""
MAY_SHOW = 0.03
"""An opening look is left out if it shows something less often than this. Judged."""


def look_round(view: CaseView, valuation: Valuation, first: CheckOption) -> LookRound | None:
    """The chosen check with the looks that can be made beside it; None if it stays alone."""
    checks = view.knowledge.checks
    leading = checks[first.checks[0]]
    if not _is_row(view, first, leading):
        return None
    rows = [option for option in valuation.options if option.checks != first.checks and _is_row(view, option, leading)]
    others = _few_cautions(view, rows, leading)
    opening = [option for name in view.openings for option in others if may_open(option, name)]
    names = round_of(valuation, (first, *opening), [option for option in others if option not in opening])
    if len(names) == 1:
        return None
    new = view.missing(leading.set_up)
    minutes = first.minutes + sum(checks[name].minutes for name in names[1:])
    return LookRound(names, minutes, first.gain, new, view.despite(leading.runs_engine))


def may_open(option: CheckOption, name: str) -> bool:
    """True if the option is this opening look and may show something."""
    return name in (option.panel, *option.checks) and 1 - option.chances[0] >= MAY_SHOW


def _is_row(view: CaseView, option: CheckOption, first: Check) -> bool:
    """True if the option can be one of the looks of a round that begins with `first`."""
    check, built = view.knowledge.checks[option.checks[0]], dict(view.case.vehicle)
    if option.panel or check.asks_customer or check.erases_evidence or check.minutes > LONG_LOOK:
        return False
    same = (check.runs_engine, check.drives) == (first.runs_engine, first.drives)
    ready = {*check.set_up} <= {*first.set_up, *view.standing_set_ups} and {*check.only_if} <= {*built}
    return same and ready and max(check.tier, Tier.LOOK) <= max(first.tier, Tier.LOOK)


def _few_cautions(view: CaseView, rows: list[CheckOption], first: Check) -> list[CheckOption]:
    """The rows, the best first, as long as all their cautions can stand above them; none that brings a new DANGER."""
    told, kept, known = {*first.cautions}, list[CheckOption](), view.knowledge
    for option in rows:
        more = told | {*known.checks[option.checks[0]].cautions}
        danger = any(known.cautions[name].word is SignalWord.DANGER for name in more - told)
        if len(more) <= max(MOST_CAUTIONS, len(told)) and not danger:
            told, kept = more, [*kept, option]
    return kept
