"""Which finding to look at again: one that fits the rest so badly that it may have been misread.

People misread. A finding that everything else makes improbable is either a surprise or a slip, and which
of them is a matter of Bayes' rule: with e the chance of a slip and p the chance of the finding given all
the others, slip : surprise = e (1 - p) / (results - 1) : (1 - e) p. Before a long repair, or before giving
the car away, a second look costs a minute or two.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from comeback.engine.belief.evidence import Evidence
from comeback.engine.belief.exact_posterior import log_evidence
from comeback.engine.belief.predictions import predict
from comeback.engine.case.case import Answer
from comeback.engine.choosing.valuation import HANDLING, set_up_minutes
from comeback.engine.walk.situation import Situation
from comeback.engine.walk.steps import MakeCheck
from comeback.kb.vocabulary import Audience, EngineOff

SLIP = 0.03
"""Chance that somebody in the bay reports another result than there is; judged, no source."""
CALLER_SLIP = 0.045
"""Chance that a caller, without tools and with the car in mind, reports another result than there is; judged."""
SEEN = 3.0
"""So many times rarer somebody with the part before them sees what is not there than overlooks what is; judged."""
LEAST_SLIP = 0.1
"""A finding is not doubted below this chance of a slip: asked too often, people stop looking."""

LEAST_SLIP_AT_END = 0.03
"""Least chance of a slip that is doubted before the car is given away: even a small doubt is worth a minute then."""
LOOKED_INTO = 3
"""Findings of which the chance of a slip is worked out exactly."""


@dataclass(frozen=True)
class Doubtful:
    """An answer with the chance that it was a slip, and the minutes that looking again takes."""

    answer: Answer
    slip: float
    minutes: float


def second_look(situation: Situation, stake: float, giving_away: bool = False) -> MakeCheck | None:
    """The check to make again, if any is worth it when `stake` minutes are lost in case of a slip.

    Before the car is given away a smaller doubt is enough.
    """
    least = LEAST_SLIP_AT_END if giving_away else LEAST_SLIP
    doubts = doubtful(situation, LOOKED_INTO, giving_away)
    found = [one for one in doubts if one.slip >= least and one.slip * stake > one.minutes]
    best = max(found, key=lambda one: (one.slip / one.minutes, one.answer.check), default=None)
    return again(situation, best) if best else None


def again(situation: Situation, doubt: Doubtful) -> MakeCheck:
    """The step that asks for the second look."""
    check = situation.knowledge.checks[doubt.answer.check]
    new, despite = situation.missing(check.set_up), situation.despite(check.runs_engine)
    return MakeCheck(check.id, doubt.minutes, 0.0, (), new, doubt.answer.result, despite=despite)


def doubtful(situation: Situation, most: int, giving_away: bool = False) -> Iterator[Doubtful]:
    """The findings to look at again, `most` of them: those that a quick estimate doubts most per minute."""
    rough = _rough(situation, list(_standing(situation, giving_away)))
    for one in sorted(rough, key=lambda one: (-one.slip / one.minutes, one.answer.check))[:most]:
        yield replace(one, slip=slip_chance(situation, one.answer, fit(situation, one.answer.check)))


def _rough(situation: Situation, answers: list[Answer]) -> list[Doubtful]:
    """The answers with a quick estimate of the slip, from the listed sets of causes alone.

    There the chance of a finding given all others is a harmonic mean over the sets.
    """
    knowledge, standing, sets = situation.knowledge, situation.standing_set_ups(), situation.sets
    expected = predict(situation.network, sets, [answer.check for answer in answers])
    out = []
    for answer in answers:
        check = knowledge.checks[answer.check]
        chances = expected.of(check.id)[:, check.names.index(str(answer.result))]
        fits = 1 / float(sets.weights @ (1 / np.maximum(chances, 1e-9)))
        minutes = HANDLING + check.minutes + set_up_minutes(knowledge, check.set_up, standing)
        out.append(Doubtful(answer, slip_chance(situation, answer, fits), minutes))
    return out


def fit(situation: Situation, check: str) -> float:
    """Chance of what was found at `check` given all other findings, exactly."""
    evidence = situation.evidence
    rest = Evidence(tuple(s for s in evidence.sightings if s.check != check), evidence.removals)
    return math.exp(min(0.0, situation.belief.log_evidence - log_evidence(situation.network, rest)))


def slip_chance(situation: Situation, answer: Answer, fits: float) -> float:
    """Chance that the answer was a slip, if `fits` is the chance of such a finding given all others."""
    check = situation.knowledge.checks[answer.check]
    error = SLIP if answer.audience is situation.audience else CALLER_SLIP
    if answer.audience != Audience.PHONE and answer.result != check.expected:
        error /= SEEN
    slip = error * (1 - fits) / (len(check.names) - 1)
    return slip / max(slip + (1 - error) * fits, 1e-300)


def _standing(situation: Situation, giving_away: bool) -> Iterator[Answer]:
    """The answers that still say how the car is, each looked at once: nobody is asked a third time.

    What the customer complains of is among them, until somebody here has seen it.
    """
    reports = situation.complaint.reports if situation.complaint else {}
    latest = {check: Answer(check, result, 0, 0, "", "", Audience.PHONE) for check, result in reports.items()}
    for answer in situation.case.answers:
        if answer.result is not None or answer.check not in latest:
            latest[answer.check] = replace(answer, again=answer.again or _seen_twice(latest.get(answer.check), answer))
        elif answer.audience is situation.audience:  # "don't know" the second time: it stays as it was
            latest[answer.check] = replace(latest[answer.check], again=True)
    for answer in latest.values():
        fresh = answer.result is not None and not answer.again
        if fresh and situation.can_look_again(answer) and _harmless(situation, answer, giving_away):
            yield answer


def _harmless(situation: Situation, answer: Answer, giving_away: bool) -> bool:
    """While the engine stays off: what does not run it, and a danger sign that running does not make worse.

    One that only the caller has seen is looked at here once, whatever it is, before the car is given away for it.
    """
    signs = situation.engine_off
    if not signs or not situation.knowledge.checks[answer.check].runs_engine:
        return True
    caller = answer.audience == Audience.PHONE and situation.audience is not Audience.PHONE
    return signs.get(answer.check) is EngineOff.LOOKED or (giving_away and caller and answer.check in signs)


def _seen_twice(before: Answer | None, now: Answer) -> bool:
    return before is not None and (before.again or (before.result == now.result and before.epoch == now.epoch))
