"""What several independent causes explain between them: unions of random sets of findings, in a tree.

A leaf says with which chance one cause alone explains each subset of the findings. Two neighbours are
united, then two pairs, and so on; what all the others explain comes back down the same tree. One union
costs 3 ** findings products, all of them non-negative, so no digits are lost; a whole level of the tree
is worked out at once, which is why this is the quick way for few findings. (The sum over subsets is the
OR-convolution; its usual fast form, by the zeta and Moebius transforms, subtracts.)

    column  one leaf or node: chance of each subset explained, shape (2**findings,), finding b is bit b
    N       columns side by side
"""

import numpy as np

from comeback.engine.belief.network import Vector

_UNITE = ([[1, 0], [0, 1], [1, 0]], [[1, 0], [1, 1], [0, 1]], [[1, 0, 0], [0, 1, 1]])
"""For one finding: neither explains it; the first does, the second may; only the second does."""
_LACKING = ([[1, 0], [0, 1], [0, 1]], [[1, 0], [0, 1], [1, 1]], [[1, 1, 0], [0, 0, 1]])
"""The transpose, for what the others must explain: two choices if it is not explained yet, one if it is."""
_KINDS = tuple(np.array(matrix, np.float64) for matrix in (*_UNITE, *_LACKING))


def union_of(leaves: Vector) -> tuple[Vector, list[Vector]]:
    """What all leaves explain together, and the levels of the tree, lowest first.

    `leaves`: shape (states, leaves, rows); each row is a tree of its own. The union: (states, rows).

    One finding, two causes that explain it with chance 0.8 and 0.5 (states: not explained, explained): neither does
    with 0.2 * 0.5 = 0.1, so the union is (0.1, 0.9).

    >>> union_of(np.array([[[0.2], [0.5]], [[0.8], [0.5]]]))[0].round(3).tolist()
    [[0.1], [0.9]]
    """
    levels, level = [], leaves
    while level.shape[1] > 1:
        if level.shape[1] % 2:
            nothing = np.zeros((level.shape[0], 1, level.shape[2]))  # one more column that changes no union
            nothing[0] = 1.0
            level = np.concatenate((level, nothing), axis=1)
        levels.append(level)
        half = level.shape[1] // 2
        level = _united(level[:, :half], level[:, half:], 0)
    return level[:, 0], levels


def explained_by_others(levels: list[Vector], leaves: int, root: Vector) -> Vector:
    """For each leaf and subset: chance that the other leaves explain the rest, so that `root` is met.

    `levels` as `union_of` gives them; `root`: the weight of each union, shape (states, rows); the result
    has the shape of the leaves.
    """
    wanted = root[:, None]
    for level in reversed(levels):
        half = level.shape[1] // 2
        others = np.concatenate((level[:, half:], level[:, :half]), axis=1)
        wanted = wanted[:, :half]  # without the one that filled the level up
        wanted = _united(np.concatenate((wanted, wanted), axis=1), others, 3)
    return wanted[:, :leaves]


def _united(one: Vector, other: Vector, kind: int) -> Vector:
    """One level up (kind 0) or down (kind 3), column by column."""
    states, columns, rows = one.shape
    findings = states.bit_length() - 1
    left, right = (
        _mapped(np.ascontiguousarray(x).reshape(states, -1), kind + k, findings) for k, x in enumerate((one, other))
    )
    return _mapped(left * right, kind + 2, findings).reshape(states, columns, rows)


def _mapped(columns: Vector, kind: int, findings: int) -> Vector:
    """The matrix of one finding, of this kind, applied to every finding, shape (sources, N) to (targets, N)."""
    matrix, done = _KINDS[kind], 1
    targets, sources = matrix.shape
    for _ in range(findings):
        columns = np.matmul(matrix, columns.reshape(done, sources, -1))
        done *= targets
    return columns.reshape(done, -1)
