"""Why: which causes lead, what each answer would change, what speaks for and against - as data.

Weight of evidence is the change of a cause's log-odds that one finding makes, here the difference
between belief with and without it, in decibans (10 log10; I. J. Good 1950, from memory).
"""

import math
from dataclasses import dataclass, replace

from comeback.engine.belief.evidence import Evidence
from comeback.engine.belief.exact_posterior import posterior
from comeback.engine.belief.predictions import predict
from comeback.engine.case.case import Answer
from comeback.engine.errors import ImpossibleFindings
from comeback.engine.walk.case_view import CaseView

FLOOR = 1e-12
"""Least chance of a cause, and of its absence, that log-odds are taken of."""


@dataclass(frozen=True)
class ResultEffect:
    """One result of a check: its chance, and the causes it would raise or lower most, (id, before, after)."""

    result: str
    chance: float
    moves: tuple[tuple[str, float, float], ...]


@dataclass(frozen=True)
class Weight:
    """What one finding says of one cause, in decibans: above 0 for it, below 0 against it."""

    check: str
    result: str
    decibans: float


def result_effects(view: CaseView, check: str, most: int = 3) -> tuple[ResultEffect, ...]:
    """What each possible result of `check` would change, the expected result first.

    The changes are those that recording the result makes: a repeated check counts instead of the earlier one.
    """
    network, before = view.network, view.belief
    sets = view.sets
    chances = sets.weights @ predict(network, sets, (check,)).of(check)
    out = []
    for number, name in enumerate(view.knowledge.checks[check].names):
        try:
            after = posterior(network, _evidence_after(view, check, name))
        except ImpossibleFindings:
            continue
        change = after.present - before.present
        top = sorted(range(len(change)), key=lambda i: -abs(change[i]))[:most]
        moves = tuple((network.causes[i], float(before.present[i]), float(after.present[i])) for i in top)
        out.append(ResultEffect(name, float(chances[number]), moves))
    return tuple(out)


def _evidence_after(view: CaseView, check: str, result: str) -> Evidence:
    """The evidence as it would stand with this answer recorded, by the same rules as a real one."""
    case, before = view.case, view.results.get(check)
    again = before is not None and before != result
    answer = Answer(check, result, case.epoch, case.last + 1, "", "", view.audience, again=again)
    return CaseView(view.knowledge, replace(case, answers=(*case.answers, answer)), view.audience).evidence


def weights_of_evidence(view: CaseView, cause: str) -> tuple[Weight, ...]:
    """What each finding says of `cause` given all the others, strongest first."""
    evidence = view.evidence
    index = view.network.index(cause)
    whole = _log_odds(float(view.belief.was_present[index]))
    weights = []
    for k, sighting in enumerate(evidence.sightings):
        others = Evidence(evidence.sightings[:k] + evidence.sightings[k + 1 :], evidence.removals)
        without = _log_odds(float(posterior(view.network, others).was_present[index]))
        name = view.knowledge.checks[sighting.check].names[sighting.result]
        weights.append(Weight(sighting.check, name, 10 / math.log(10) * (whole - without)))
    return tuple(sorted(weights, key=lambda weight: -abs(weight.decibans)))


def _log_odds(p: float) -> float:
    """Natural log-odds, with certainty kept finite by FLOOR."""
    p = min(max(p, FLOOR), 1 - FLOOR)
    return math.log(p / (1 - p))
