"""What it is worth to know more before deciding: textbook forms, for any decision.

    p (S,) chance of each state     L (S, R) chance of each result in each state
    u (A, S) utility of each action in each state

Howard, "Information Value Theory", IEEE Trans. Systems Science and Cybernetics SSC-2(1), 1966 (title page read).
"""

from comeback.engine.belief.network import Vector


def best_expected_utility(p: Vector, u: Vector) -> float:
    """Expected utility of the best single action, nothing more known."""
    return float((u @ p).max())


def value_of_information(p: Vector, likelihood: Vector, u: Vector) -> float:
    """Gain from seeing the result before acting, before its cost, in the unit of `u`; never below zero.

    Worked by hand: a worn spark plug (0.6, 20 min) or a loose connector (0.4, 5 min). Best without a check is the
    connector first, 5 + 0.6 * 20 = 17 min. A look that tells which it is leaves 0.6 * 20 + 0.4 * 5 = 14 min, so it
    is worth 3 min; at 2 min it pays, at 4 it does not.

    >>> import numpy as np
    >>> plug_first, connector_first = [-20, -25], [-25, -5]
    >>> round(value_of_information(np.array([0.6, 0.4]), np.eye(2), np.array([plug_first, connector_first])), 9)
    3.0
    """
    joint = p[:, None] * likelihood
    return max(0.0, float((u @ joint).max(axis=0).sum()) - best_expected_utility(p, u))
