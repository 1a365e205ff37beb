"""What the chooser's look-ahead is held against: exact search, rollout at every choice, information gain, a bound.

Exact search is the AND/OR recursion C(X) = min over checks of price + sum of chance times C(X after result).
Rollout tries each check first and then follows a greedy rule; it is never worse than the rule (Bertsekas,
Tsitsiklis & Wu 1997, from memory; over information gain for test sequencing: Tu & Pattipati 2003, abstract read).
"""

from collections.abc import Callable, Sequence

import numpy as np

from comeback.engine.choosing.lookahead import Budget, Node, Rule, Standing, node_of, try_first


def by_information(node: Node) -> int | None:
    """The check with the most bits per minute; ends when nothing is left to find out."""
    if node.end <= 0:
        return None
    rates = {c: node.information(c) / max(node.decision.price(c, node.standing), 1e-9) for c in node.open}
    best = max(rates, key=lambda c: (rates[c], -c), default=None)
    return best if best is not None and rates[best] > 1e-12 else None


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
    known: dict[tuple[bytes, Standing, tuple[int, ...]], float] = {}
    try:
        return _optimal(node, known, most)
    except OverflowError:
        return None


def _optimal(node: Node, known: dict[tuple[bytes, Standing, tuple[int, ...]], float], most: int) -> float:
    """Beliefs that are met again are searched once; two checks alike may leave one belief with different ones open."""
    key = (np.round(node.weights, 10).tobytes(), node.standing, node.open)
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
    problem, columns = node.decision, node.decision.slices[check]
    standing = problem.after(check, node.standing)
    rest = tuple(c for c in node.open if c != check)
    total = problem.price(check, node.standing)
    for column in range(columns.start, columns.stop):
        chance = float(node.chances[column])
        if chance > 1e-12:
            child = node_of(problem, node.rows[column], rest, standing, float(node.ends[column]))
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
