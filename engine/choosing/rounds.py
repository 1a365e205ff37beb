"""Several looks on one screen: those that follow the chosen one as long as everything is as it should be.

A technician at the open hood looks at five things before typing a word. Each row is worth its own minutes after all
rows above it came out as expected; the screen is paid once.
"""

from collections.abc import Sequence

from comeback.engine.choosing.lookahead import Node, node_of
from comeback.engine.choosing.valuation import IN_BAY, CheckOption, Valuation

MOST_ROWS = 5
"""Looks on one screen: what fits it, and what one keeps in mind; judged."""
LEAST_ROW = 0.25
"""Minutes that one more row must save beyond its own; judged."""
LEAST_SHOWN = 0.01
"""Chance of an abnormal result below which a row is not worth reading; judged."""


def round_of(valuation: Valuation, first: Sequence[CheckOption], others: Sequence[CheckOption]) -> tuple[str, ...]:
    """The checks of a round in order: `first` whatever they save, then the best of `others`, MOST_ROWS in all."""
    first = first[:MOST_ROWS]
    rows = [option.checks[0] for option in (*first, *others)]
    node = valuation.restricted([option.checks for option in (*first, *others)])
    chosen = list(range(len(first)))
    for row in chosen:
        node = _as_expected(node, row)
    while len(chosen) < MOST_ROWS and (best := _best_row(node)) is not None:
        chosen.append(best)
        node = _as_expected(node, best)
    return tuple(rows[row] for row in chosen)


def _as_expected(node: Node, check: int) -> Node:
    """The node after `check` showed nothing wrong."""
    column, decision = node.decision.slices[check].start, node.decision
    rest = tuple(row for row in node.open if row != check)
    standing = decision.after(check, node.standing)
    return node_of(decision, node.rows[column], rest, standing, float(node.ends[column]))


def _best_row(node: Node) -> int | None:
    """The open row that saves most per minute, the screen being there already; None if none saves enough."""
    minutes = [price - IN_BAY for price in node.decision.prices(node.standing)]
    shown = [1 - float(node.chances[columns.start]) for columns in node.decision.slices]
    paying = [k for k in node.open if node.saving(k) - minutes[k] > LEAST_ROW and shown[k] >= LEAST_SHOWN]
    return max(paying, key=lambda k: (node.saving(k) / max(minutes[k], 0.1), -k), default=None)
