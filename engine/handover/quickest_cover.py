"""The quickest checks of which each cause has one that is sure enough for it: exact choice by branch and bound.

One check must do for each cause: two weak signs of the same thing, such as a wet spot and a drip, are not
independent, so their chances must not be put together here.

The bound: causes that share no check need at least the quickest check of each. The cause with the fewest
checks left is covered first, by each of them in turn (minimum hitting set; from memory).
"""

from collections.abc import Collection, Sequence

from comeback.engine.handover.best_subset import CLOSE, Choice

MOST_NODES = 20_000
"""Nodes looked into before the best set so far is taken."""


def quickest_cover(choice: Choice, wanted: Sequence[Collection[int]]) -> tuple[int, ...]:
    """Positions of the options, with what they need, that hold one of each collection in the fewest minutes.

    Of sets that are as quick, one that is worth more. Raises ValueError if a collection is empty.
    """
    if not all(wanted):
        raise ValueError("nothing to choose from. Leave out a cause that no check catches.")
    search = _Search(choice)
    search.branch((), [frozenset(some) for some in wanted])
    return tuple(sorted(search.best))


class _Search:
    """Depth first; `best` is the best set so far, `price` its minutes and what it spares, negative."""

    def __init__(self, choice: Choice) -> None:
        self.choice, self.left = choice, MOST_NODES
        self.best: tuple[int, ...] = ()
        self.price = (float("inf"), 0.0)

    def branch(self, chosen: tuple[int, ...], wanted: Sequence[frozenset[int]]) -> None:
        """Everything that holds `chosen` and could be quicker than the best so far."""
        wanted = [some for some in wanted if not some.intersection(chosen)]
        minutes = self.choice.minutes(chosen)
        if not wanted:
            price = (round(minutes, 6), -self.choice.spared(chosen))
            if price < self.price:
                self.best, self.price = chosen, price
            return
        self.left -= 1
        if self.price[0] < float("inf") and (self.left < 0 or minutes + self._bound(wanted) > self.price[0] + CLOSE):
            return
        scarce = min(wanted, key=lambda some: (len(some), sorted(some)))
        out: set[int] = set()
        for k in sorted(scarce, key=lambda k: (self._added(k, chosen), k)):
            rest = [some - out for some in wanted]
            if all(rest):
                self.branch((*chosen, *self.choice.lacking(k, chosen)), rest)
            out.add(k)

    def _added(self, k: int, chosen: tuple[int, ...]) -> float:
        return self.choice.minutes((*chosen, *self.choice.lacking(k, chosen)))

    def _bound(self, wanted: Sequence[frozenset[int]]) -> float:
        """Least minutes, without set-ups, of what is still wanted."""
        seen: set[int] = set()
        total = 0.0
        for some in sorted(wanted, key=len):
            if not some & seen:
                total += min(self.choice.options[k].minutes for k in some)
                seen |= some
        return total
