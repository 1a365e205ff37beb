"""Messages over the state of explained findings: what eliminating one cause does to them.

A message is a vector over the subsets of findings that are open; place b of the state is bit b of
the index. Every step multiplies and adds non-negative numbers only, so no digits cancel.
"""

from collections.abc import Iterable

import numpy as np

from comeback.engine.belief.network import Vector

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
    """The cause is present with `weight`: each finding it bears on is explained or not.

    One finding open and not yet explained, a cause of weight 0.1 that gives a lesser result with 0.2 and this one with
    0.8: the state goes from (1, 0) to 0.1 * (0.2, 0.8).

    >>> push(np.array([1.0, 0.0]), 0.1, [(0, 0.2, 0.8)]).round(3).tolist()
    [0.02, 0.08]
    """
    part = weight * state
    for place, lesser, exactly in moves:
        view = part.reshape(-1, 2, 1 << place)
        view[:, 1] = (lesser + exactly) * view[:, 1] + exactly * view[:, 0]
        view[:, 0] *= lesser
    return part


def push_transposed(ahead: Vector, weight: float, moves: Iterable[Move]) -> Vector:
    """Transpose of `push`."""
    part = weight * ahead
    for place, lesser, exactly in moves:
        view = part.reshape(-1, 2, 1 << place)
        view[:, 0] = lesser * view[:, 0] + exactly * view[:, 1]
        view[:, 1] *= lesser + exactly
    return part
