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
    """Gain from seeing the result before acting, before its cost; never below zero."""
    joint = p[:, None] * likelihood
    return max(0.0, float((u @ joint).max(axis=0).sum()) - best_expected_utility(p, u))
