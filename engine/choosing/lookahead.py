"""Looking further than one check: greedy rules, rollout over them, and exact search.

A `Problem` is a belief over sets, checks with predicted results, prices that depend on the set-ups
standing, and what it costs to end now (repair, then hand over). Rollout tries each check first and
then follows a greedy rule; it is never worse than the rule (Bertsekas, Tsitsiklis & Wu 1997, from
memory; over information gain for test sequencing: Tu & Pattipati 2003, abstract read). Exact search
is the AND/OR recursion C(X) = min over checks of price + sum of chance times C(X after result).

    w (S,) weights of the sets, summing to 1      C columns: all results of the checks, side by side
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from comeback.engine.belief.network import Vector

RARE = 0.003
"""A result rarer than this is ended at once instead of looked into."""
Standing = frozenset[str]


@dataclass(frozen=True)
class Problem:
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
    used: int = field(default=0)
    rare: float = RARE

    def take(self) -> bool:
        """Use one; False if none is left."""
        self.left -= 1
        self.used += 1
        return self.left >= 0


Rule = Callable[["Node"], int | None]
"""A greedy rule: the check to make at this node, None to end."""


@dataclass(frozen=True)
class Node:
    """A belief with the checks still open; everything a greedy rule looks at, computed at once."""

    problem: Problem
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
        after = np.add.reduceat(self.chances * self.ends, self.problem.starts) if self.chances.size else self.chances
        out: list[float] = (self.end - after).tolist()
        return out

    def information(self, check: int) -> float:
        """Mutual information of the check's result and the set, in bits (Shannon)."""
        return float(self._bits[check])

    @cached_property
    def _bits(self) -> Vector:
        """(checks,) information of each."""
        terms = _entropy_terms(self.chances)
        doubt = np.array([terms[columns].sum() for columns in self.problem.slices])
        return np.asarray(doubt - self.weights @ self.problem.doubt)


def _entropy_terms(chances: Vector) -> Vector:
    """-p log2 p of each chance; 0 where p is."""
    return np.asarray(-chances * np.log2(np.where(chances > 0, chances, 1.0)))


def look(problem: Problem, weights: Vector, open_: tuple[int, ...], standing: Standing, end: float) -> Node:
    """The node of this belief."""
    joint = weights[:, None] * problem.tables
    chances = joint.sum(axis=0)
    joint /= np.maximum(chances, 1e-300)
    columns = [k for c in open_ for k in range(problem.slices[c].start, problem.slices[c].stop)]
    ends, rows = np.zeros(chances.size), joint.T
    if columns and len(columns) == chances.size:
        ends = problem.ends(rows)
    elif columns:
        ends[columns] = problem.ends(joint[:, columns].T)
    return Node(problem, weights, open_, standing, end, chances, rows, ends)


def by_saving(least: float = 0.0) -> Rule:
    """The check with the best saving per minute among those that save more than price and `least`."""

    def rule(node: Node) -> int | None:
        best, best_rate, prices = None, 0.0, node.problem.prices(node.standing)
        for check in node.open:
            saving, price = node.saving(check), prices[check]
            if saving - price > least and saving / max(price, 1e-9) > best_rate:
                best, best_rate = check, saving / max(price, 1e-9)
        return best

    return rule


def by_information(node: Node) -> int | None:
    """The check with the most bits per minute; ends when nothing is left to find out."""
    if node.end <= 0:
        return None
    rates = {c: node.information(c) / max(node.problem.price(c, node.standing), 1e-9) for c in node.open}
    best = max(rates, key=lambda c: (rates[c], -c), default=None)
    return best if best is not None and rates[best] > 1e-12 else None


def follow(node: Node, rule: Rule, budget: Budget) -> float:
    """Expected minutes from this node on if the rule is followed to the end (or the budget's)."""
    check = rule(node)
    if check is None:
        return node.end
    return try_first(node, check, rule, budget)


def try_first(node: Node, check: int, rule: Rule, budget: Budget) -> float:
    """Expected minutes if `check` is made now and the rule is followed afterwards."""
    problem, columns = node.problem, node.problem.slices[check]
    total = problem.price(check, node.standing)
    rest = tuple(c for c in node.open if c != check)
    standing = problem.after(check, node.standing)
    for column in range(columns.start, columns.stop):
        chance, end = float(node.chances[column]), float(node.ends[column])
        if chance < 1e-12:
            continue
        if chance < budget.rare or not rest or not budget.take():
            total += chance * end
        else:
            total += chance * follow(look(problem, node.rows[column], rest, standing, end), rule, budget)
    return total


def rollout(node: Node, rule: Rule, candidates: Sequence[int], budget: Budget) -> tuple[int | None, float]:
    """The best first check (None: end now) and the expected minutes of making it, then following the rule.

    The rule's own choice is always among the candidates, and ending now too, so the result is never
    worse than the rule as long as the budget lasts for both alike.
    """
    own = rule(node)
    best, value = None, node.end
    for check in dict.fromkeys([*([own] if own is not None else []), *candidates]):
        share = Budget(budget.left // max(1, len(candidates) + 1), rare=budget.rare)
        minutes = try_first(node, check, rule, share)
        if minutes < value - 1e-9:
            best, value = check, minutes
    return best, value


def follow_rollout(node: Node, rule: Rule) -> float:
    """Expected minutes if every choice is made by rollout over the rule, all open checks tried."""
    check, _ = rollout(node, rule, node.open, Budget(10**7, rare=0.0))
    if check is None:
        return node.end
    return _expect(node, check, lambda child: follow_rollout(child, rule))


def optimal(node: Node, most: int = 50_000) -> float | None:
    """The least possible expected minutes by exact search; None if more than `most` beliefs are met."""
    known: dict[tuple[bytes, Standing], float] = {}
    try:
        return _optimal(node, known, most)
    except OverflowError:
        return None


def _optimal(node: Node, known: dict[tuple[bytes, Standing], float], most: int) -> float:
    """A check that cannot change the belief is skipped, so the open checks need no place in the key."""
    key = (np.round(node.weights, 10).tobytes(), node.standing)
    if key not in known:
        if len(known) >= most:
            raise OverflowError
        best = node.end
        for check in node.open:
            if node.information(check) > 1e-12:
                best = min(best, _expect(node, check, lambda child: _optimal(child, known, most)))
        known[key] = best
    return known[key]


def _expect(node: Node, check: int, value: Callable[[Node], float]) -> float:
    problem, columns = node.problem, node.problem.slices[check]
    standing = problem.after(check, node.standing)
    rest = tuple(c for c in node.open if c != check)
    total = problem.price(check, node.standing)
    for column in range(columns.start, columns.stop):
        chance = float(node.chances[column])
        if chance > 1e-12:
            child = look(problem, node.rows[column], rest, standing, float(node.ends[column]))
            total += chance * value(child)
    return total


def huffman_bound(weights: Sequence[float]) -> float:
    """Least expected number of yes/no checks that tell the states apart (Huffman 1952, from memory).

    A lower bound for unit prices; reached only if every split that it needs exists as a check.
    """
    import heapq

    heap = [w for w in weights if w > 0]
    heapq.heapify(heap)
    total = 0.0
    while len(heap) > 1:
        pair = heapq.heappop(heap) + heapq.heappop(heap)
        total += pair
        heapq.heappush(heap, pair)
    return total
