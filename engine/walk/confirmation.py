"""A look at the cause itself before long work: nothing big is taken apart or replaced on inference alone.

The numbers are judged, so even a cause that is nearly sure is looked at where that is a small share of the work: the
marks before the timing belt is set, the part number before a wrong part is replaced.
"""

from collections.abc import Iterator

from comeback.engine.choosing.repair_sequence import Action
from comeback.engine.choosing.valuation import CheckOption, Valuation, own_minutes
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.open_now import condition_first, make_check
from comeback.engine.walk.second_look import LONG_WORK
from comeback.engine.walk.steps import ChooseCondition, MakeCheck, ReadPanel
from comeback.kb.schema import MEANT
from comeback.kb.vocabulary import Audience

SMALL_SHARE = 0.2
"""A look costs little beside work that takes five times as long; judged."""
PLAINLY, SELDOM = 0.85, 0.02
"""A look shows a cause itself if it is abnormal this often with it, and this seldom in a car without it; judged."""


def confirm_first(
    view: CaseView, valuation: Valuation, action: Action
) -> MakeCheck | ReadPanel | ChooseCondition | None:
    """The cheapest check that shows the cause which `action` is meant for, if none has shown it yet and it pays."""
    if action.minutes < LONG_WORK:
        return None
    plain = set(_plain(view, action.id))
    if any(view.results.get(name) not in (None, view.knowledge.checks[name].expected) for name in plain):
        return None
    looks = [option for option in valuation.options if plain.issuperset(option.checks)]
    cheapest = min(looks, key=lambda option: (_minutes(view, option), option.checks), default=None)
    if cheapest is None or _minutes(view, cheapest) > SMALL_SHARE * action.minutes:
        return None
    return condition_first(view, cheapest.checks[0]) or make_check(view, cheapest)


def _plain(view: CaseView, repair: str) -> Iterator[str]:
    """The looks and measurements of the bay that show the most probable cause which the repair is meant for."""
    known, belief = view.knowledge, view.belief
    meant = [c for c, chance in known.repairs[repair].removes.items() if chance >= MEANT and c in view.network.causes]
    if not meant:
        return
    cause = max(meant, key=belief.probability)
    for name in known.causes[cause].shows:
        check = known.checks[name]
        here = Audience.BAY in check.audience and check.panel is None and not check.asks_customer
        if here and 1 - known.chances(cause, name)[0] >= PLAINLY and sum(check.otherwise.values()) <= SELDOM:
            yield name


def _minutes(view: CaseView, option: CheckOption) -> float:
    """What the check takes itself: its set-ups are needed for the proof as well."""
    return own_minutes(view.knowledge, option.checks, view.audience)
