"""Real decisions of walks over the shipped knowledge."""

from collections.abc import Iterator

import numpy as np
from bench_next_step import answered, begin

from comeback.engine.choosing.valuation import Valuation, value_options
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience

STATES = 3
"""Decisions looked at for each complaint, one after the other in its walk."""


def outlook_of(walk: Walk) -> Valuation:
    """What the chooser looks at."""
    s = walk.view
    return value_options(walk.knowledge, s.network, s.evidence, s.askable(), s.repairs(), s.standing_set_ups)


def situations(complaints: int, seed: int) -> Iterator[Valuation]:
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
