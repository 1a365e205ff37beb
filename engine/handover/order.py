"""The order of the checks on a hand-over card: engine off, start, running, off again; one place at one go."""

import re
from collections.abc import Sequence
from enum import IntEnum

import numpy as np

from comeback.engine.handover.same_day import START, runs
from comeback.engine.handover.table import DANGEROUS, Table
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Tier

LIFTED = "hoist"
"""The set-up for looks from below: after the run, when leaks show, unless danger to people is looked for there."""
ALIKE = 0.6
"""Two checks this alike, 0 to 1, in their place or in what they catch, are made one after the other; judged."""
SHORTEST = 4
"""Letters of the shortest word that tells a place."""


class Stage(IntEnum):
    """What the engine does while a check is made, in the order of the card."""

    OFF = 0
    START = 1
    RUNNING = 2
    OFF_AGAIN = 3


def ordered(table: Table, chosen: Sequence[int]) -> list[tuple[int, Stage]]:
    """Positions of the options with their stages, in the order to do them; what an option needs comes before it."""
    stages = _stages(table, chosen)
    ranks = _phases(table.knowledge, set(table.choice.standing(chosen)))

    def block(k: int) -> tuple[Stage, int, tuple[str, ...]]:
        set_ups = table.choice.options[k].set_ups
        return stages[k], max((ranks[name] for name in set_ups), default=0), tuple(sorted(set_ups))

    blocks: dict[tuple[Stage, int, tuple[str, ...]], list[int]] = {}
    for k in chosen:
        blocks.setdefault(block(k), []).append(k)
    waiting = [k for _, together in sorted(blocks.items()) for k in _chain(table, together)]
    out = []
    while waiting:  # each is moved back behind what it needs
        free = (k for k in waiting if not table.choice.options[k].needs.intersection(waiting))
        k = next(free, waiting[0])
        waiting.remove(k)
        out.append((k, stages[k]))
    return out


def _stages(table: Table, chosen: Sequence[int]) -> dict[int, Stage]:
    checks = {k: [table.knowledge.checks[name] for name in table.groups[k]] for k in chosen}
    lifted = [k for k in chosen if LIFTED in table.choice.options[k].set_ups]
    people = any(check.tier is Tier.PEOPLE for k in lifted for check in checks[k])
    any_run = any(runs(check) for some in checks.values() for check in some)
    out = {}
    for k, some in checks.items():
        if any(runs(check) for check in some):
            out[k] = Stage.START if START in table.groups[k] else Stage.RUNNING
        else:
            later = (k in lifted and not people) or any(check.codes for check in some)
            out[k] = Stage.OFF_AGAIN if later and any_run else Stage.OFF
    return out


def _chain(table: Table, block: Sequence[int]) -> list[int]:
    """Danger first, by what it is worth a minute; then always what is most like the check before, if alike at all."""

    def key(k: int) -> tuple[bool, float, int]:
        option = table.choice.options[k]
        dangerous = any(table.causes[c].drive >= DANGEROUS and option.catches[c] >= 0.5 for c in table.dangers())
        return not dangerous, -float(option.catches @ table.choice.worth) / option.minutes, k

    left = sorted(block, key=key)
    out = [left.pop(0)]
    while left:
        likes = [_alike(table, out[-1], k) for k in left]
        best = int(np.argmax(likes))
        out.append(left.pop(best if likes[best] >= ALIKE else 0))
    return out


def _alike(table: Table, one: int, other: int) -> float:
    """0 to 1: words shared by the places, or the cosine between what two options catch, whichever is more."""
    points = [" ".join(table.knowledge.checks[name].point for name in table.groups[k]) for k in (one, other)]
    words = [{word for word in re.findall(r"[^\s,;]+", text.lower()) if len(word) >= SHORTEST} for text in points]
    place = len(words[0] & words[1]) / len(words[0] | words[1]) if words[0] and words[1] else 0.0
    a, b = (table.choice.options[k].catches * table.frequency for k in (one, other))
    size = float(np.sqrt((a @ a) * (b @ b)))
    return max(place, float(a @ b) / size if size else 0.0)


def _phases(knowledge: KnowledgeBase, used: set[str]) -> dict[str, int]:
    """0 for set-ups that end no other one in use; those that end another come after it, the dearest of a pair first."""
    ranks = dict.fromkeys(used, 0)
    for name in sorted(used, key=lambda n: -knowledge.set_ups[n].minutes):
        for ended in knowledge.set_ups[name].ends:
            mutual = ended in used and name in knowledge.set_ups[ended].ends
            if ended in used and not (mutual and knowledge.set_ups[name].minutes > knowledge.set_ups[ended].minutes):
                ranks[name] = max(ranks[name], ranks[ended] + 1)
    return ranks
