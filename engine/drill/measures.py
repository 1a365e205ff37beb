"""What a trainee's step was worth with what was known then: bits, and what was still open."""

from comeback.engine.choosing.valuation import look_ahead
from comeback.engine.errors import EngineError
from comeback.engine.walk.walk import Walk

STILL_OPEN = 0.20
"""A conclusion is unwarranted while a cause that it leaves out is at least this probable ..."""
ESTABLISHED = 0.80
"""... unless what it names is itself at least this probable: two causes may both be there."""
LEADING = 3
"""Causes that count as leading: a suspect among them was a good one, whatever the car turned out to have."""


def still_open(walk: Walk, causes: tuple[str, ...]) -> tuple[tuple[str, float], ...]:
    """Causes at least STILL_OPEN probable that a conclusion on `causes` leaves out, unless it is ESTABLISHED."""
    present = _present(walk)
    if max((present.get(cause, 0.0) for cause in causes), default=0.0) >= ESTABLISHED:
        return ()
    return tuple((c, p) for c, p in present.items() if p >= STILL_OPEN and c not in causes)


def leading(walk: Walk) -> tuple[str, ...]:
    """The most probable causes, at most LEADING of them."""
    return tuple(_present(walk))[:LEADING]


def _present(walk: Walk) -> dict[str, float]:
    """Chance of each cause, most probable first; empty if the findings exclude each other."""
    try:
        return dict(walk.situation.repair_candidates(0.0))
    except EngineError:
        return {}


def bits(walk: Walk, group: tuple[str, ...]) -> tuple[float, float]:
    """Bits that these checks can tell about what is wrong, and the most that any possible check can."""
    situation = walk.situation
    askable = situation.askable()
    fresh = [check for check in group if check in askable]
    try:
        outlook = look_ahead(
            walk.knowledge, situation.network, situation.evidence, askable, situation.repairs(),
            situation.standing_set_ups(),
        )  # fmt: skip
    except EngineError:
        return 0.0, 0.0
    told = {checks: outlook.node.information(number) for checks, number in outlook.numbers.items()}
    own = max((bits for checks, bits in told.items() if set(checks) & set(fresh)), default=0.0)
    return max(0.0, own), max([0.0, *told.values()])
