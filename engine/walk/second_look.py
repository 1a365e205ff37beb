"""Which finding to look at again: one that fits the rest so badly that it may have been misread.

People misread. A finding that everything else makes improbable is either a surprise or a slip, and which
of them is a matter of Bayes' rule: with e the chance of a slip and p the chance of the finding given all
the others, slip : surprise = e (1 - p) / (results - 1) : (1 - e) p. Before a long repair, or before giving
the car away, a second look costs a minute or two.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from comeback.engine.belief.exact_posterior import logs_of_the_rest
from comeback.engine.belief.predictions import predict
from comeback.engine.case.case import Answer
from comeback.engine.choosing.valuation import own_minutes, set_up_minutes
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.steps import MakeCheck
from comeback.kb.vocabulary import Audience, EngineOff, Tier

SLIP = 0.03
"""Chance that somebody in the bay reports another result than there is; judged, no source."""
CALLER_SLIP = 0.045
"""Chance that a caller, without tools and with the car in mind, reports another result than there is; judged."""
SEEN = 3.0
"""With the part in hand a defect that is not there is reported this many times less often than one that is there is
missed; judged."""
LEAST_SLIP = 0.2
"""A finding is not doubted below this chance of a slip: asked too often, people stop looking; judged."""

LEAST_SLIP_AT_END = 0.03
"""Least chance of a slip that is doubted before the car is given away: a small doubt is worth a minute then; judged."""
LONG_WORK = 30.0
"""Minutes of work before which even this is asked again: what was found by looking, history, codes; judged."""
PLAIN = 10.0
"""A cause gives a result so many times as often as a car without it if the result is a look at it; judged."""
LOOKED_INTO = 3
"""Findings of which the chance of a slip is worked out exactly."""


@dataclass(frozen=True)
class Doubtful:
    """An answer with the chance that it was a slip, and the minutes that looking again takes."""

    answer: Answer
    slip: float
    minutes: float


def second_look(view: CaseView, stake: float, giving_away: bool = False) -> MakeCheck | None:
    """The check to make again, if any is worth it when `stake` minutes are lost in case of a slip.

    Before the car is given away a smaller doubt is enough.
    """
    least = LEAST_SLIP_AT_END if giving_away else LEAST_SLIP
    doubts = doubtful(view, giving_away, stake)
    found = [one for one in doubts if one.slip >= least and one.slip * stake > one.minutes]
    best = max(found, key=lambda one: (one.slip / one.minutes, one.answer.check), default=None)
    return again(view, best) if best else None


def again(view: CaseView, doubt: Doubtful) -> MakeCheck:
    """The step that asks for the second look."""
    check = view.knowledge.checks[doubt.answer.check]
    new, despite = view.missing(check.set_up), view.despite(check.runs_engine)
    return MakeCheck(check.id, doubt.minutes, 0.0, (), new, doubt.answer.result, despite=despite)


def doubtful(view: CaseView, giving_away: bool = False, stake: float = math.inf) -> Iterator[Doubtful]:
    """The findings to look at again, LOOKED_INTO of them: those that a quick estimate doubts most per minute."""
    rough = _rough(view, list(_standing(view, stake, giving_away)))
    most = sorted(rough, key=lambda one: (-one.slip / one.minutes, one.answer.check))[:LOOKED_INTO]
    for one, fits in zip(most, fit(view, [one.answer.check for one in most]), strict=True):
        yield replace(one, slip=slip_chance(view, one.answer, fits))


def _rough(view: CaseView, answers: list[Answer]) -> list[Doubtful]:
    """The answers with a quick estimate of the slip, from the listed sets of causes alone.

    There the chance of a finding given all others is a harmonic mean over the sets.
    """
    knowledge, standing, sets = view.knowledge, view.standing_set_ups, view.sets
    expected = predict(view.network, sets, [answer.check for answer in answers])
    out = []
    for answer in answers:
        check = knowledge.checks[answer.check]
        chances = expected.of(check.id)[:, check.names.index(str(answer.result))]
        fits = 1 / float(sets.weights @ (1 / np.maximum(chances, 1e-9)))
        own = own_minutes(knowledge, (check.id,), view.audience)
        minutes = own + set_up_minutes(knowledge, check.set_up, standing)
        out.append(Doubtful(answer, slip_chance(view, answer, fits), minutes))
    return out


def fit(view: CaseView, checks: Sequence[str]) -> list[float]:
    """For each of the checks: chance of what was found there given all other findings, exactly."""
    rest = logs_of_the_rest(view.network, view.evidence, view.belief.presences, checks)
    return [math.exp(min(0.0, view.belief.log_evidence - log)) for log in rest]


def slip_chance(view: CaseView, answer: Answer, fits: float) -> float:
    """Chance that the answer was a slip, if `fits` is the chance of such a finding given all others."""
    check = view.knowledge.checks[answer.check]
    error = (SLIP if answer.audience is view.audience else CALLER_SLIP) * check.sureness.errors
    if answer.audience != Audience.PHONE and answer.result != check.expected:
        error /= SEEN
    slip = error * (1 - fits) / (len(check.names) - 1)
    return slip / max(slip + (1 - error) * fits, 1e-300)


def slip_of(view: CaseView, check: str, found: str) -> float:
    """Chance that `found` is a slip; what the complaint itself reports counts as an answer of the caller's."""
    answer = view.case.answer(check) or Answer(check, found, 0, 0, "", "", Audience.PHONE)
    return slip_chance(view, answer, fit(view, [check])[0])


def _standing(view: CaseView, stake: float, giving_away: bool) -> Iterator[Answer]:
    """The answers that still say how the car is, each looked at once: nobody is asked a third time.

    What the customer complains of is among them, until somebody here has seen it.
    """
    latest = {check: Answer(check, result, 0, 0, "", "", Audience.PHONE) for check, result in view.stated.items()}
    for answer in view.case.answers:
        if answer.result is not None or answer.check not in latest:
            latest[answer.check] = replace(answer, again=answer.again or _seen_twice(latest.get(answer.check), answer))
        elif answer.audience is view.audience:  # "don't know" the second time: it stays as it was
            latest[answer.check] = replace(latest[answer.check], again=True)
    for answer in latest.values():
        fresh = answer.result is not None and not answer.again and _accepted(view, answer, stake)
        if fresh and view.can_look_again(answer) and _harmless(view, answer, giving_away):
            yield answer


def _accepted(view: CaseView, answer: Answer, stake: float) -> bool:
    """True if a technician sees why: a loose clamp that was just found is not doubted before short work.

    Nor is the customer called back to say the same again then, nor a list of codes read twice.
    """
    check = view.knowledge.checks[answer.check]
    if view.audience is not Audience.BAY or stake >= LONG_WORK:
        return True
    found_here = answer.audience == Audience.BAY and answer.result != check.expected and check.tier <= Tier.LOOK
    return not check.asks_customer and check.panel is None and not found_here


def _harmless(view: CaseView, answer: Answer, giving_away: bool) -> bool:
    """While the engine stays off: what does not run it, and a danger sign that running does not make worse.

    One that only the caller has seen is looked at here once, whatever it is, before the car is given away for it.
    """
    signs = view.engine_off
    if not signs or not view.knowledge.checks[answer.check].runs_engine:
        return True
    caller = answer.audience == Audience.PHONE and view.audience is not Audience.PHONE
    return signs.get(answer.check) is EngineOff.LOOKED or (giving_away and caller and answer.check in signs)


def _seen_twice(before: Answer | None, now: Answer) -> bool:
    """True if the check was looked at again already."""
    return before is not None and (before.again or (before.result == now.result and before.epoch == now.epoch))


def seen_again(view: CaseView, repair: str) -> str | None:
    """The look of which the repair meets the very part: tightening a clamp shows if it was tight."""
    shown: dict[str, float] = {}
    for answer in view.case.answers:
        check = view.knowledge.checks[answer.check]
        here = answer.audience is view.audience and answer.epoch == view.case.epoch and check.tier <= Tier.LOOK
        lies_open = not (check.runs_engine or check.lasting or check.id in view.stated)
        stands = answer.result not in (None, check.expected) and answer.result == view.results.get(check.id)
        if here and lies_open and stands:
            shown[check.id] = view.tells_of(repair, check, str(answer.result))
    best = max(shown, key=lambda name: (shown[name], name), default=None)
    return best if best is not None and shown[best] >= PLAIN else None
