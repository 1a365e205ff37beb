"""How many questions are left, honestly: the middle, and a range that held in nine of ten simulated walks.

The one cheap thing that foretells it is how undecided the belief is: the entropy, in bits, of the
causes' chances as shares. The table was read off simulated walks of the shipped knowledge (500 in
the bay, 400 calls); tests/benchmarks/bench_questions_left.py measures it anew on other cars.
"""

import math

from comeback.engine.case.case import standing
from comeback.engine.case.events import Kind
from comeback.engine.case.facts import fact_of
from comeback.engine.errors import EngineError
from comeback.engine.walk import steps
from comeback.engine.walk.policy import PHONE_QUESTIONS, PHONE_QUESTIONS_WHEN_TOWED
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience, Disposition

EDGES = (2.0, 3.0, 3.5, 4.0, 4.5, 5.0)
"""Entropy in bits at which the next row of the tables begins."""
BAY = ((1, 2, 9), (1, 4, 14), (1, 6, 20), (2, 8, 26), (2, 10, 32), (2, 10, 33), (2, 10, 34))
PHONE = ((1, 2, 6), (1, 2, 7), (1, 3, 7), (1, 4, 8), (1, 4, 8), (1, 4, 8), (1, 4, 8))
"""(fewest, middle, most) questions from here to the next repair or hand-over, or to the advice."""


def questions_left(walk: Walk) -> tuple[int, int, int] | None:
    """(fewest, middle, most) questions left, this one included; None where no question is asked."""
    asking = isinstance(walk.step, steps.DangerScreen | steps.MakeCheck | steps.ReadPanel | steps.ChooseCondition)
    if walk.case.complaint is None or walk.case.repairs or not asking:
        return None
    try:
        row = sum(entropy(walk) >= edge for edge in EDGES)
    except EngineError:
        return None
    if walk.audience is Audience.BAY:
        return BAY[row]
    if walk.view.ruling.floor >= Disposition.TOW:
        return 1, 1, 1  # what stands asks for a tow already: the danger signs, then the advice
    few, middle, most = PHONE[row]
    if isinstance(walk.step, steps.MakeCheck):  # so many the policy still allows, this one included
        towed = walk.view.ruling.advice >= Disposition.TOW
        limit = PHONE_QUESTIONS_WHEN_TOWED if towed else PHONE_QUESTIONS
        most = min(most, max(1, limit - sum(answer.check not in walk.view.signs for answer in walk.case.answers)))
    return min(few, most), min(middle, most), most


def entropy(walk: Walk) -> float:
    """Entropy in bits of the causes' chances, taken as shares of their sum."""
    chances = [p for p in map(float, walk.view.belief.present) if p > 0]
    whole = math.fsum(chances)
    return -math.fsum(p / whole * math.log2(p / whole) for p in chances) if whole else 0.0


def progress(walk: Walk) -> str:
    """`question 4, about 3 more (0 to 8)`; empty where no question is asked."""
    left = questions_left(walk)
    if left is None:
        return ""
    told = (event for event in standing(walk.events) if event.kind in (Kind.ANSWERED, Kind.CONDITION))
    asked = sum(getattr(fact_of(event), "audience", walk.audience) is walk.audience for event in told)
    few, middle, most = (count - 1 for count in left)
    return f"question {asked + 1}, about {middle} more ({few} to {most})"
