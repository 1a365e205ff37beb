"""Exact posterior over all sets of causes, any number at once, without listing them.

Causes are switched in one by one. The state is the subset of abnormal findings already explained;
a finding takes a place in the state from the first cause that bears on it to the last, so the work
is exponential only in how many findings are open at once. Every term is a probability, nothing is
subtracted, so no digits are lost (the inclusion-exclusion form, Heckerman 1989, from memory, loses
them: compared in tests/engine).

    F  forward messages: weight of the causes so far, by state
    G  backward messages: weight of the causes to come, by state
"""

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass

import numpy as np

from comeback.engine.errors import ImpossibleFindings, TooManyFindings
from comeback.engine.evidence import STILL_THERE, CauseModes, Evidence, Mode, cause_modes
from comeback.engine.network import Network, Vector

MAX_OPEN = 22
"""Abnormal findings that may be open at once: 2**22 states are 34 MB a message."""

Leak = tuple[float, float]  # chance of a lesser result, chance of exactly the result seen


@dataclass(frozen=True)
class Belief:
    """Probability of each cause given the findings, shape (causes,).

    `present`: it is there now. `was_present`: it was there before any repair. `log_evidence`: natural
    logarithm of the probability of all findings together. `live`: indices of causes that can explain
    an abnormal finding.
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
    """Belief after the evidence, with the causes in `excluded` taken as absent.

    Raises ImpossibleFindings if the evidence has probability zero, TooManyFindings if more than
    MAX_OPEN abnormal findings must be held open at once.
    """
    modes = _with_excluded(network, cause_modes(network, evidence), excluded)
    plan = _plan(modes, _leaks(network, evidence))
    present, was = np.zeros(len(modes)), np.zeros(len(modes))
    constant = _settle_idle(modes, present, was) + plan.constant + _expected_leaks(network, evidence)
    log_evidence = constant + plan.run(present, was)
    if log_evidence == -math.inf:
        raise ImpossibleFindings(tuple(sighting.check for sighting in evidence.sightings))
    live = tuple(cause.index for cause in modes if cause.live)
    return Belief(network, present, was, log_evidence, live)


def log_evidence(network: Network, evidence: Evidence, excluded: Collection[str] = ()) -> float:
    """Logarithm of the probability of the evidence; minus infinity if it is impossible."""
    try:
        return posterior(network, evidence, excluded).log_evidence
    except ImpossibleFindings:
        return -math.inf


def _with_excluded(network: Network, modes: list[CauseModes], excluded: Collection[str]) -> list[CauseModes]:
    if not excluded:
        return modes
    return [
        CauseModes(cause.index, cause.absent, ()) if network.causes[cause.index] in excluded else cause
        for cause in modes
    ]


def _leaks(network: Network, evidence: Evidence) -> list[Leak]:
    leaks = []
    for sighting in evidence.abnormal:
        chances = network.observables[sighting.check].leak
        leaks.append((float(chances[: sighting.result].sum()), float(chances[sighting.result])))
    return leaks


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


@dataclass(frozen=True)
class _Turn:
    """One cause's turn: findings opened before it, its modes by place in the state, findings closed after."""

    cause: CauseModes
    opens: tuple[Leak, ...]
    moves: tuple[tuple[tuple[int, float, float], ...], ...]  # per mode: (place, lesser, exactly)
    closes: tuple[int, ...]  # places, highest first


@dataclass(frozen=True)
class _Plan:
    turns: tuple[_Turn, ...]
    constant: float

    def run(self, present: Vector, was: Vector) -> float:
        """Forward and backward passes; fills the two vectors and returns the log of the mass."""
        state, stored, total = np.ones(1), [], 0.0
        for turn in self.turns:
            state = _open(state, turn.opens)
            stored.append(state)
            state = _close(_switch_in(state, turn), turn.closes)
            mass = float(state.sum())
            if mass <= 0:
                return -math.inf
            state, total = state / mass, total + math.log(mass)
        self._backward(stored, present, was)
        return total

    def _backward(self, stored: list[Vector], present: Vector, was: Vector) -> None:
        ahead = np.ones(1)
        for turn, before in zip(reversed(self.turns), reversed(stored), strict=True):
            ahead = _reopen(ahead, turn.closes)
            pulled = [_pull(ahead, mode, moves) for mode, moves in zip(turn.cause.modes, turn.moves, strict=True)]
            weights = [float(before @ g) for g in pulled]
            absent = turn.cause.absent * float(before @ ahead)
            mass, index = absent + sum(weights), turn.cause.index
            was[index] = sum(weights) / mass
            still = zip(weights, turn.cause.modes, strict=True)
            present[index] = sum(w for w, mode in still if mode.gone == STILL_THERE) / mass
            ahead = turn.cause.absent * ahead + np.sum(pulled, axis=0)
            ahead = _unopen(ahead / ahead.max(), turn.opens)


def _plan(modes: Iterable[CauseModes], leaks: list[Leak]) -> _Plan:
    """Order the live causes, and find when each finding enters and leaves the state."""
    live = _ordered([cause for cause in modes if cause.live], len(leaks))
    spans = _spans(live)
    constant = sum(_log(leak[1]) for bit, leak in enumerate(leaks) if bit not in spans)
    places: list[int] = []
    turns = []
    for turn, cause in enumerate(live):
        new = [bit for bit in _bits(cause) if spans[bit][0] == turn]
        places += new
        if len(places) > MAX_OPEN:
            raise TooManyFindings(len(places), MAX_OPEN)
        moves = tuple(tuple((places.index(b), lo, at) for b, lo, at in mode.bits) for mode in cause.modes)
        done = sorted((places.index(bit) for bit in _bits(cause) if spans[bit][1] == turn), reverse=True)
        turns.append(_Turn(cause, tuple(leaks[bit] for bit in new), moves, tuple(done)))
        for place in done:
            del places[place]
    return _Plan(tuple(turns), constant)


def _bits(cause: CauseModes) -> list[int]:
    return sorted({bit for mode in cause.modes for bit, _, _ in mode.bits})


def _spans(live: list[CauseModes]) -> dict[int, tuple[int, int]]:
    """Finding -> first and last turn that touches it."""
    spans: dict[int, tuple[int, int]] = {}
    for turn, cause in enumerate(live):
        for bit in _bits(cause):
            spans[bit] = (spans.get(bit, (turn, turn))[0], turn)
    return spans


def _ordered(live: list[CauseModes], findings: int) -> list[CauseModes]:
    """Few findings: any order will do. Many: next the cause that opens fewest, to keep the state narrow."""
    if findings <= 12:
        return sorted(live, key=lambda cause: (_bits(cause), cause.index))
    left = {cause.index: (cause, frozenset(_bits(cause))) for cause in live}
    out: list[CauseModes] = []
    opened: frozenset[int] = frozenset()
    while left:
        index = min(left, key=lambda i: (len(left[i][1] - opened), -len(left[i][1]), i))
        cause, bits = left.pop(index)
        out.append(cause)
        opened |= bits
    return out


def _open(state: Vector, leaks: Iterable[Leak]) -> Vector:
    for lesser, exactly in leaks:
        state = np.concatenate((lesser * state, exactly * state))
    return state


def _unopen(ahead: Vector, leaks: tuple[Leak, ...]) -> Vector:
    for lesser, exactly in reversed(leaks):
        half = ahead.size // 2
        ahead = lesser * ahead[:half] + exactly * ahead[half:]
    return ahead


def _close(state: Vector, places: Iterable[int]) -> Vector:
    for place in places:
        state = np.ascontiguousarray(state.reshape(-1, 2, 1 << place)[:, 1]).ravel()
    return state


def _reopen(ahead: Vector, places: tuple[int, ...]) -> Vector:
    for place in reversed(places):
        wide = np.zeros((ahead.size >> place, 2, 1 << place))
        wide[:, 1] = ahead.reshape(-1, 1 << place)
        ahead = wide.ravel()
    return ahead


def _switch_in(state: Vector, turn: _Turn) -> Vector:
    """The cause is absent, or present in one of its modes and explains what it explains."""
    out = turn.cause.absent * state
    for mode, moves in zip(turn.cause.modes, turn.moves, strict=True):
        part = (mode.weight * mode.neutral) * state
        for place, lesser, exactly in moves:
            view = part.reshape(-1, 2, 1 << place)
            view[:, 1] = (lesser + exactly) * view[:, 1] + exactly * view[:, 0]
            view[:, 0] *= lesser
        out += part
    return out


def _pull(ahead: Vector, mode: Mode, moves: Iterable[tuple[int, float, float]]) -> Vector:
    """Transpose of the present part of `_switch_in`."""
    part = (mode.weight * mode.neutral) * ahead
    for place, lesser, exactly in moves:
        view = part.reshape(-1, 2, 1 << place)
        view[:, 0] = lesser * view[:, 0] + exactly * view[:, 1]
        view[:, 1] *= lesser + exactly
    return part
