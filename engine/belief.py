"""Exact posterior over all sets of causes, any number at once, without listing them.

Causes are switched in one by one (`turns`). The state is the subset of abnormal findings already
explained (`messages`). Every term is a probability, nothing is subtracted, so no digits are lost
(the inclusion-exclusion form, Heckerman 1989, from memory, loses them: tests/benchmarks).

    F  forward messages: weight of the causes so far, by state
    G  backward messages: weight of the causes to come, by state
"""

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from comeback.engine.errors import ImpossibleFindings
from comeback.engine.evidence import STILL_THERE, CauseModes, Evidence, cause_modes
from comeback.engine.messages import Leak, close_places, open_places, pull, push, reopen, unopen
from comeback.engine.network import Network, Vector
from comeback.engine.turns import Turn, Turns, take_turns

ROOMY = 16
"""Findings open at once from which only every so many forward messages are kept, to bound memory."""


@dataclass(frozen=True)
class Belief:
    """Probability of each cause given the findings, shape (causes,).

    `present`: it is there now. `was_present`: it was there before any repair. `log_evidence`: natural
    logarithm of the probability of all findings together (with excluded causes: and that they are
    absent). `live`: indices of causes that can explain an abnormal finding.
    """

    network: Network
    present: Vector
    was_present: Vector
    log_evidence: float
    live: tuple[int, ...]

    def probability(self, cause: str) -> float:
        """Chance that `cause` is present now."""
        return float(self.present[self.network.index(cause)])


def posterior(network: Network, evidence: Evidence, excluded: Collection[str] = ()) -> Belief:
    """Belief after the evidence and, for the causes in `excluded`, after finding them absent.

    Raises ImpossibleFindings if the evidence has probability zero, TooManyFindings if more than
    `turns.MAX_OPEN` abnormal findings must be held open at once.
    """
    modes = _without(network, cause_modes(network, evidence), excluded)
    turns = take_turns(modes, leaks_of(network, evidence))
    present, was = network.prior.copy(), network.prior.copy()
    total = _settle_idle(modes, present, was) + turns.constant + _expected_leaks(network, evidence)
    kept: list[Vector] = []
    total += _forward(turns, kept)
    if total == -math.inf:
        raise ImpossibleFindings(tuple(sighting.check for sighting in evidence.sightings))
    _settle(turns, kept, present, was)
    live = tuple(cause.index for cause in modes if cause.live)
    return Belief(network, present, was, total, live)


def log_evidence(network: Network, evidence: Evidence, excluded: Collection[str] = ()) -> float:
    """Log chance of the evidence and of the `excluded` causes being absent; minus infinity if impossible."""
    modes = _without(network, cause_modes(network, evidence), excluded)
    turns, unused = take_turns(modes, leaks_of(network, evidence)), network.prior.copy()
    constant = _settle_idle(modes, unused, unused) + turns.constant + _expected_leaks(network, evidence)
    return constant + _forward(turns, [])


def leaks_of(network: Network, evidence: Evidence) -> list[Leak]:
    """Leak of each abnormal finding: chance of a lesser result, of exactly the result seen."""
    leaks = []
    for sighting in evidence.abnormal:
        chances = network.observables[sighting.check].leak
        leaks.append((float(chances[: sighting.result].sum()), float(chances[sighting.result])))
    return leaks


def _without(network: Network, modes: list[CauseModes], excluded: Collection[str]) -> list[CauseModes]:
    if not excluded:
        return modes
    names = frozenset(excluded)
    gone = {index for index, name in enumerate(network.causes) if name in names}
    absent = [CauseModes(index, 1 - float(network.prior[index]), ()) for index in sorted(gone)]
    return [cause for cause in modes if cause.index not in gone] + absent


def _expected_leaks(network: Network, evidence: Evidence) -> float:
    """Log chance that the leak gave the expected result wherever it was seen."""
    seen = (network.observables[s.check] for s in evidence.sightings if s.result == 0)
    return sum(_log(float(observable.leak[0])) for observable in seen)


def _log(value: float) -> float:
    return math.log(value) if value > 0 else -math.inf


def _settle_idle(modes: Iterable[CauseModes], present: Vector, was: Vector) -> float:
    """Causes without an abnormal finding stand alone: closed form, no place in the state."""
    total = 0.0
    for cause in modes:
        if cause.live:
            continue
        there = [mode.weight * mode.neutral for mode in cause.modes]
        mass = cause.absent + sum(there)
        total += _log(mass)
        if mass > 0:
            was[cause.index] = sum(there) / mass
            still = [w for w, mode in zip(there, cause.modes, strict=True) if mode.gone == STILL_THERE]
            present[cause.index] = sum(still) / mass
    return total


def _stride(turns: Turns) -> int:
    """Every so many forward messages are kept: all would take gigabytes where many findings are open."""
    return 1 if turns.width < ROOMY else math.isqrt(len(turns.turns))


def _forward(turns: Turns, kept: list[Vector]) -> float:
    """Log of the mass; the messages to keep are put into `kept`."""
    state, total, stride = np.ones(1), 0.0, _stride(turns)
    for k, turn in enumerate(turns.turns):
        if k % stride == 0:
            kept.append(state)
        state = close_places(_switch_in(open_places(state, turn.opens), turn), turn.closes)
        mass = float(state.sum())
        if mass <= 0:
            return -math.inf
        state, total = state / mass, total + math.log(mass)
    return total


def _settle(turns: Turns, kept: list[Vector], present: Vector, was: Vector) -> None:
    """Backward pass: fills the two vectors; forward messages between the kept ones are made again."""
    ahead, stride = np.ones(1), _stride(turns)
    while kept:
        first = stride * (len(kept) - 1)
        ahead = _backward(turns.turns[first : first + stride], kept.pop(), ahead, present, was)


def _switch_in(state: Vector, turn: Turn) -> Vector:
    """The cause is absent, or present in one of its modes and explains what it explains."""
    out: Vector = turn.cause.absent * state
    for mode, moves in zip(turn.cause.modes, turn.moves, strict=True):
        out += push(state, mode.weight * mode.neutral, moves)
    return out


def _befores(turns: tuple[Turn, ...], state: Vector) -> list[Vector]:
    """Forward messages at each turn, with the findings that it opens."""
    out = [open_places(state, turns[0].opens)]
    for last, turn in pairwise(turns):
        state = close_places(_switch_in(out[-1], last), last.closes)
        out.append(open_places(state / state.sum(), turn.opens))
    return out


def _backward(turns: tuple[Turn, ...], state: Vector, ahead: Vector, present: Vector, was: Vector) -> Vector:
    """Settle the causes of `turns`, last first; `state`: forward message before them, `ahead`: after."""
    befores = _befores(turns, state)
    for turn in reversed(turns):
        before = befores.pop()
        ahead = reopen(ahead, turn.closes)
        absent, weights = turn.cause.absent * float(before @ ahead), []
        behind = turn.cause.absent * ahead
        for mode, moves in zip(turn.cause.modes, turn.moves, strict=True):
            pulled = pull(ahead, mode.weight * mode.neutral, moves)
            weights.append(float(before @ pulled))
            behind += pulled
        mass, index = absent + sum(weights), turn.cause.index
        was[index] = sum(weights) / mass
        still = zip(weights, turn.cause.modes, strict=True)
        present[index] = sum(w for w, mode in still if mode.gone == STILL_THERE) / mass
        ahead = unopen(behind / behind.max(), turn.opens)
    return ahead
