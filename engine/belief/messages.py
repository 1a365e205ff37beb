"""Messages over the state of explained findings: what eliminating one cause does to them.

A message is a vector over the subsets of findings that are open; place b of the state is bit b of
the index. Every step multiplies and adds non-negative numbers only, so no digits cancel.
"""

from collections.abc import Iterable
from functools import reduce
from typing import Any

import numpy as np

from comeback.engine.belief.network import Vector

MATRICES = 1 << 16
"""States from which moves go in groups as matrix products: strided views of short runs are slow."""
GROUP = 4
"""Places in one matrix product."""

Move = tuple[int, float, float]
"""Place in the state, chance of a lesser result, chance of exactly the result seen."""
Leak = tuple[float, float]
"""Chance that the leak gives a lesser result, and exactly the result seen."""


def open_places(state: Vector, leaks: Iterable[Leak]) -> Vector:
    """Findings enter the state at the highest places, explained or not by their leak."""
    for lesser, exactly in leaks:
        state = np.concatenate((lesser * state, exactly * state))
    return state


def open_places_transposed(ahead: Vector, leaks: tuple[Leak, ...]) -> Vector:
    """Transpose of `open_places`."""
    for lesser, exactly in reversed(leaks):
        half = ahead.size // 2
        ahead = lesser * ahead[:half] + exactly * ahead[half:]
    return ahead


def close_places(state: Vector, places: Iterable[int]) -> Vector:
    """Findings leave the state, highest place first; only what explains them stays."""
    for place in places:
        state = np.ascontiguousarray(state.reshape(-1, 2, 1 << place)[:, 1]).ravel()
    return state


def close_places_transposed(ahead: Vector, places: tuple[int, ...]) -> Vector:
    """Transpose of `close_places`."""
    for place in reversed(places):
        wide = np.zeros((ahead.size >> place, 2, 1 << place))
        wide[:, 1] = ahead.reshape(-1, 1 << place)
        ahead = wide.ravel()
    return ahead


def push(state: Vector, weight: float, moves: Iterable[Move]) -> Vector:
    """The cause is present with `weight`: each finding it bears on is explained or not."""
    part = weight * state
    if part.size >= MATRICES:
        for first, matrix in _matrices(moves, part.size):
            part = _apply(matrix, part, first)
        return part
    for place, lesser, exactly in moves:
        view = part.reshape(-1, 2, 1 << place)
        view[:, 1] = (lesser + exactly) * view[:, 1] + exactly * view[:, 0]
        view[:, 0] *= lesser
    return part


def push_transposed(ahead: Vector, weight: float, moves: Iterable[Move]) -> Vector:
    """Transpose of `push`."""
    part = weight * ahead
    if part.size >= MATRICES:
        for first, matrix in _matrices(moves, part.size):
            part = _apply(matrix.T, part, first)
        return part
    for place, lesser, exactly in moves:
        view = part.reshape(-1, 2, 1 << place)
        view[:, 0] = lesser * view[:, 0] + exactly * view[:, 1]
        view[:, 1] *= lesser + exactly
    return part


def _matrices(moves: Iterable[Move], size: int) -> list[tuple[int, Vector]]:
    """The moves within each GROUP of places as one matrix: (first place, matrix)."""
    groups: dict[int, dict[int, Vector]] = {}
    for place, lesser, exactly in moves:
        step = np.array([[lesser, 0.0], [exactly, lesser + exactly]])
        groups.setdefault(place - place % GROUP, {})[place] = step
    out = []
    for first, steps in groups.items():
        places = range(first, min(first + GROUP, size.bit_length() - 1))
        factors: list[Any] = [steps.get(place, np.eye(2)) for place in reversed(places)]
        out.append((first, reduce(np.kron, factors)))
    return out


def _apply(matrix: Vector, state: Vector, first: int) -> Vector:
    """Multiply the places from `first` on by `matrix`."""
    if first == 0:
        return np.asarray((state.reshape(-1, len(matrix)) @ matrix.T).ravel())
    return np.asarray(np.matmul(matrix, state.reshape(-1, len(matrix), 1 << first)).ravel())
