"""Real decisions made small enough for exact search, and ways of working to compare on simulated cars."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from bench_next_step import answered, begin

from comeback.engine import steps
from comeback.engine.choosing import best_check
from comeback.engine.lookahead import Node, look
from comeback.engine.planning import CheckOption, Outlook, look_ahead
from comeback.engine.walk import Walk
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience, Tier

BELIEFS = 6_000
"""Checks are taken into the small problem while this many beliefs hold every answer to them."""
MOST_CHECKS = 8
STATES = 3
"""Decisions looked at for each complaint, one after the other in its walk."""
SURE = 0.8
"""Chance of cure of the leading repair at which a fixed list of checks is left off."""


def outlook_of(walk: Walk) -> Outlook:
    """What the chooser looks at."""
    s = walk.situation
    return look_ahead(walk.knowledge, s.network, s.evidence, s.askable(), s.repairs(), s.standing_set_ups())


def situations(complaints: int, seed: int) -> Iterator[Outlook]:
    """Decisions from walks over every few complaints, with sampled findings."""
    knowledge, rng = load_knowledge(), np.random.default_rng(seed)
    names = list(knowledge.complaints)[:: max(1, len(knowledge.complaints) // complaints)][:complaints]
    for name in names:
        services = knowledge.complaints[name].services or tuple(knowledge.services)
        walk: Walk | None = begin(knowledge, str(rng.choice(services)), name, Audience.BAY)
        seen = 0
        while walk is not None and seen < STATES:
            if isinstance(walk.step, steps.MakeCheck | steps.ReadPanel | steps.DoRepair):
                found = outlook_of(walk)
                if len(found.options) > 1 and found.actions:
                    seen += 1
                    yield found
            walk = answered(walk, walk.step, rng)


def reduced(outlook: Outlook) -> Node:
    """The likeliest sets and the checks with the best rates, as many as exact search can take."""
    chosen, beliefs = [], 1
    for option in sorted(outlook.options, key=lambda o: (-o.gain / o.minutes, o.checks)):
        grown = beliefs * (len(option.chances) + 1)
        if grown <= BELIEFS and len(chosen) < MOST_CHECKS:
            chosen, beliefs = [*chosen, option.checks], grown
    return outlook.narrowed(chosen)


def followed(outlook: Outlook, node: Node, tiers: bool) -> float:
    """Expected minutes if `best_check` makes every choice in the small problem."""
    kept = node.weights.size
    sets = replace(outlook.sets, now=outlook.sets.now[:kept], weights=node.weights)
    by_number = {k: o for o in outlook.options for k in [_number(outlook, node, o)] if k is not None}
    small = replace(outlook, sets=sets, costs=outlook.costs.narrowed(np.arange(kept)))
    return _follow(small, node, by_number, tiers)


def _number(outlook: Outlook, node: Node, option: CheckOption) -> int | None:
    """Number of the option's check in the small problem: the one with the same table."""
    columns = outlook.node.problem.slices[outlook.numbers[option.checks]]
    table = outlook.node.problem.tables[: node.weights.size, columns]
    for k, columns in enumerate(node.problem.slices):
        mine = node.problem.tables[:, columns]
        if mine.shape == table.shape and np.array_equal(mine, table):
            return k
    return None


def _follow(small: Outlook, node: Node, by_number: dict[int, CheckOption], tiers: bool) -> float:
    options = []
    for k in node.open:
        tier = by_number[k].tier if tiers else Tier.LOOK
        price, gain = node.problem.price(k, node.standing), max(0.0, node.saving(k))
        options.append(replace(by_number[k], minutes=price, gain=gain, tier=tier))
    here = replace(
        small,
        sets=replace(small.sets, weights=node.weights),
        plan=small.costs.plan(node.weights),
        options=tuple(sorted(options, key=lambda option: (-option.net, option.checks))),
        node=node,
        numbers={by_number[k].checks: k for k in node.open},
    )
    best = best_check(here) if options else None
    if best is None:
        return node.end
    check = here.numbers[best.checks]
    total, rest = best.minutes, tuple(k for k in node.open if k != check)
    standing, columns = node.problem.after(check, node.standing), node.problem.slices[check]
    for c in range(columns.start, columns.stop):
        if node.chances[c] > 1e-6:
            child = look(node.problem, node.rows[c], rest, standing, float(node.ends[c]))
            total += float(node.chances[c]) * _follow(small, child, by_number, tiers)
    return total
