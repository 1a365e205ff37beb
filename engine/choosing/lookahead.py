"""Looking further than one check: expected minutes if a check is made first and a greedy rule followed after it.

A `Decision` is a belief over sets, checks with predicted results, prices that depend on the set-ups
standing, and what it costs to end now (repair, then hand over). Comparing first checks by what a greedy
rule makes of them is one step of rollout, which is never worse than the rule (Bertsekas, Tsitsiklis & Wu
1997, from memory; over information gain for test sequencing: Tu & Pattipati 2003, abstract read).

    w (S,) weights of the sets, summing to 1      C columns: all results of the checks, side by side
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from comeback.engine.belief.network import Vector

RARE = 0.003
"""A result rarer than this is ended at once instead of looked into; judged, for speed."""
Standing = frozenset[str]


@dataclass(frozen=True)
class Decision:
    """`tables` (S, C) chance of each result for each set; `slices`: columns of each check.

    `price(check, standing)` and `after(check, standing)`: minutes, and the set-ups standing then.
    `ends(rows)`: for beliefs (E, S), minutes if no more is checked, shape (E,).
    """

    tables: Vector
    slices: tuple[slice, ...]
    price: Callable[[int, Standing], float]
    after: Callable[[int, Standing], Standing]
    ends: Callable[[Vector], Vector]
    _prices: dict[Standing, list[float]] = field(default_factory=dict, compare=False, repr=False)

    def prices(self, standing: Standing) -> list[float]:
        """Minutes of every check with these set-ups standing; each worked out once."""
        if standing not in self._prices:
            self._prices[standing] = [self.price(check, standing) for check in range(len(self.slices))]
        return self._prices[standing]

    @cached_property
    def starts(self) -> list[int]:
        """First column of each check."""
        return [columns.start for columns in self.slices]

    @cached_property
    def doubt(self) -> Vector:
        """(S, checks) entropy in bits of each check's result when the set is known; made once."""
        terms = _entropy_terms(self.tables)
        return np.stack([terms[:, columns].sum(axis=1) for columns in self.slices], axis=1)


@dataclass
class Budget:
    """How many beliefs may still be looked into; counted, not timed, so that a choice can be repeated.

    Results rarer than `rare` are ended at once; 0 where ending is no answer, as in telling states apart.
    """

    left: int
    rare: float = RARE

    def take(self) -> bool:
        """Use one; False if none is left."""
        self.left -= 1
        return self.left >= 0


Rule = Callable[["Node"], int | None]
"""A greedy rule: the check to make at this node, None to end."""


@dataclass(frozen=True)
class Node:
    """A belief with the checks still open; everything a greedy rule looks at, computed at once."""

    decision: Decision
    weights: Vector
    open: tuple[int, ...]
    standing: Standing
    end: float
    chances: Vector  # (C,) of each result
    rows: Vector  # (C, S) belief after each result
    ends: Vector  # (C,) minutes if ended after each result

    def saving(self, check: int) -> float:
        """Minutes that `check` saves on average before its price."""
        return self._savings[check]

    @cached_property
    def _savings(self) -> list[float]:
        """(checks,) saving of each; of one that is not open it says nothing."""
        after = np.add.reduceat(self.chances * self.ends, self.decision.starts) if self.chances.size else self.chances
        out: list[float] = (self.end - after).tolist()
        return out

    def information(self, check: int) -> float:
        """Mutual information of the check's result and the set, in bits (Shannon)."""
        return float(self._bits[check])

    @cached_property
    def _bits(self) -> Vector:
        """(checks,) information of each."""
        terms = _entropy_terms(self.chances)
        doubt = np.array([terms[columns].sum() for columns in self.decision.slices])
        return np.asarray(doubt - self.weights @ self.decision.doubt)


def _entropy_terms(chances: Vector) -> Vector:
    """-p log2 p of each chance; 0 where p is."""
    return np.asarray(-chances * np.log2(np.where(chances > 0, chances, 1.0)))


def node_of(decision: Decision, weights: Vector, open_: tuple[int, ...], standing: Standing, end: float) -> Node:
    """The node of this belief."""
    joint = weights[:, None] * decision.tables
    chances = joint.sum(axis=0)
    joint /= np.maximum(chances, 1e-300)
    columns = [k for c in open_ for k in range(decision.slices[c].start, decision.slices[c].stop)]
    ends, rows = np.zeros(chances.size), joint.T
    if columns and len(columns) == chances.size:
        ends = decision.ends(rows)
    elif columns:
        ends[columns] = decision.ends(joint[:, columns].T)
    return Node(decision, weights, open_, standing, end, chances, rows, ends)


def by_saving(least: float = 0.0) -> Rule:
    """The check with the best saving per minute among those that save more than price and `least`."""

    def rule(node: Node) -> int | None:
        """The best check of the node, None if none saves enough."""
        best, best_rate, prices = None, 0.0, node.decision.prices(node.standing)
        for check in node.open:
            saving, price = node.saving(check), prices[check]
            if saving - price > least and saving / max(price, 1e-9) > best_rate:
                best, best_rate = check, saving / max(price, 1e-9)
        return best

    return rule


def follow(node: Node, rule: Rule, budget: Budget) -> float:
    """Expected minutes from this node on if the rule is followed to the end (or the budget's)."""
    check = rule(node)
    if check is None:
        return node.end
    return try_first(node, check, rule, budget)


def try_first(node: Node, check: int, rule: Rule, budget: Budget) -> float:
    """Expected minutes if `check` is made now and the rule is followed afterwards.

    Example: repairing at once takes 60 min. A check of 5 min shows a loose connector in half of the cars (10 min to
    fix) and sends the others to the same repair: 5 + 0.5 * 10 + 0.5 * 60 = 40 min, so the check comes first.
    """
    decision, columns = node.decision, node.decision.slices[check]
    total = decision.price(check, node.standing)
    rest = tuple(c for c in node.open if c != check)
    standing = decision.after(check, node.standing)
    for column in range(columns.start, columns.stop):
        chance, end = float(node.chances[column]), float(node.ends[column])
        if chance < 1e-12:
            continue
        if chance < budget.rare or not rest or not budget.take():
            total += chance * end
        else:
            total += chance * follow(node_of(decision, node.rows[column], rest, standing, end), rule, budget)
    return total
