"""What a caller may do alone on the phone: when it is offered, what it spares, whether it settled the complaint.

It is weighed by the same belief as every question: the chance that it settles the complaint, times the visit that is
spared, beside the caller's minutes. All limits are judged.
"""

from collections.abc import Iterable

import numpy as np

from comeback.engine.case.facts import Solved
from comeback.engine.choosing.valuation import CheckOption, Valuation
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.closing import removed_causes
from comeback.engine.walk.known_so_far import START
from comeback.kb.schema import Check, Remedy
from comeback.kb.vocabulary import Audience, Disposition

SURE = 0.75
"""Chance from which what a remedy settles counts as what was wrong, once it helped."""
MOST_TRIED = 2
"""Remedies in one call."""


def offered(view: CaseView, check: Check) -> bool:
    """True unless there is a danger sign that it does not cure or that nobody could tell, the car must be towed for
    another reason than that it does not start, or two remedies were tried."""
    remedy, ruling = check.remedy, view.ruling
    unsure = {sign for sign in view.signs if view.results.get(sign, "") is None}
    if remedy is None or not {*ruling.flags, *unsure} <= set(remedy.despite):
        return False
    most = Disposition.TOW if ruling.flags or (view.dead and START in check.needs) else Disposition.COME_IN
    return ruling.advice <= most and _tried(view) < MOST_TRIED


def _tried(view: CaseView) -> int:
    checks, asked = view.knowledge.checks, {a.check for a in view.case.answers if a.audience is Audience.PHONE}
    return sum(checks[name].remedy is not None for name in asked if name not in view.signs)


def settled(view: CaseView) -> Check | None:
    """The remedy that settled the complaint since the last repair, if one did; its own danger sign is gone with it."""
    for answer in reversed(view.case.answers):
        check = view.knowledge.checks[answer.check]
        remedy, new = check.remedy, answer.epoch == view.case.epoch and answer.audience is Audience.PHONE
        if remedy is None or not new or view.results.get(check.id) != remedy.result:
            continue
        share = float(view.sets.weights @ _settles(view, remedy))
        if share >= SURE and set(view.ruling.flags) <= set(remedy.despite):
            return check
    return None


def solution(view: CaseView, check: str, told: Disposition, said: Iterable[str] = ()) -> Solved:
    """What is recorded of a complaint that this remedy settled, with the advice that the caller was told."""
    remedy = view.knowledge.checks[check].remedy
    repair = remedy.repair if remedy else ""
    return Solved(told.word, check, repair, removed_causes(view, repair), said=tuple(said))


def spared(view: CaseView, valuation: Valuation, option: CheckOption) -> float:
    """Minutes of visits that the remedy spares on average; 0 if its result would not settle anything."""
    check = view.knowledge.checks[option.checks[0]]
    if check.remedy is None or option.panel is not None:
        return 0.0
    decision = valuation.node.decision
    place = decision.slices[valuation.numbers[option.checks]].start + check.names.index(check.remedy.result)
    helped = valuation.sets.weights * decision.tables[:, place]
    right = float(helped @ _settles(view, check.remedy))
    return view.knowledge.settings.visit_minutes * right if right >= SURE * float(helped.sum()) else 0.0


def _settles(view: CaseView, remedy: Remedy) -> np.ndarray:
    """(S,) chance that the remedy's repair removes every cause of each set."""
    causes, removes = view.sets.belief.network.causes, view.knowledge.repairs[remedy.repair].removes
    gone = np.array([removes.get(causes[c], 0.0) for c in view.sets.live])
    now = view.sets.now
    return np.asarray(np.where(now, gone, 1.0).prod(axis=1) * now.any(axis=1))
