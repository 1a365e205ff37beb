"""What stands above every screen: which case, which car, how many questions are left of a call.

These are the middle and a range that held in nine of ten simulated calls. The one cheap thing that foretells them is
how undecided the belief is: the entropy, in bits, of the causes' chances as shares. The table was read off 400
simulated calls; tests/benchmarks/bench_questions_left.py measures it anew on other cars.
"""

import math

from comeback.cli.look import Look, Styled
from comeback.cli.screens.event_text import complaints_text
from comeback.engine.case.case import NOT_TAKEN, standing
from comeback.engine.case.events import Kind
from comeback.engine.case.facts import fact_of
from comeback.engine.errors import EngineError
from comeback.engine.walk import steps
from comeback.engine.walk.phone_step import PHONE_QUESTIONS, PHONE_QUESTIONS_WHEN_TOWED
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience, Disposition

SIGNS_BESIDE = 5
EDGES = (2.0, 3.0, 3.5, 4.0, 4.5, 5.0)
"""Entropy in bits at which the next row of the table begins."""
PHONE = ((1, 2, 6), (1, 2, 7), (1, 3, 7), (1, 4, 8), (1, 4, 8), (1, 4, 8), (1, 4, 8))
"""(fewest, middle, most) questions from here to the advice."""


def head(walk: Walk, look: Look, progress: str = "") -> list[Styled]:
    """Which case, for whom, after which service, with which complaint; `progress` stands in the rule above."""
    case, knowledge = walk.case, walk.knowledge
    name = f"case {case.id}" if case.id and case.id != "-" else "new case"
    parts = [name, walk.audience.value]
    if case.services:
        parts.append(" + ".join(knowledge.services[s].plain for s in case.services if s in knowledge.services))
    if case.complaint:
        several = f"{len(case.complaints)} complaints: " if case.further else ""
        parts.append(several + complaints_text(knowledge, case.complaints).lower())
    told = f" {progress} " if progress else ""
    rule: Styled = ("faint", look.rule[: max(0, look.width - 1 - len(told))] + told)
    title, car = (shortened(text, look.width - 1) for text in ("  ·  ".join(parts), car_line(walk)))
    return [rule, ("title", title), *look.styled("faint", car)]


def car_line(walk: Walk) -> str:
    """In the bay: which car it is, what the caller was told, what the customer said. Six danger signs fill a screen."""
    long = isinstance(walk.step, steps.DangerScreen) and len(walk.step.checks) > SIGNS_BESIDE
    if walk.audience is not Audience.BAY or long:
        return ""
    case = walk.case
    plate = case.registration or (f"{case.unconfirmed[-1]} (not confirmed)" if case.unconfirmed else "")
    words = f'"{case.words}"' if case.words else ""
    last = case.last_told
    told = f"{'refused' if last.how == NOT_TAKEN else 'told'}: {last.disposition}" if last else ""
    return "  ·  ".join(part for part in (plate, case.car, told, words) if part)


def shortened(text: str, most: int) -> str:
    """`text` in at most `most` characters, cut between words where it can be."""
    if len(text) <= most:
        return text
    cut = text[: most - 1]
    kept, _, _ = cut.rpartition(" ")
    return f"{(kept if len(kept) > most // 2 else cut).rstrip(' ·,;')}…"


def questions_left(walk: Walk) -> tuple[int, int, int] | None:
    """(fewest, middle, most) questions left, this one included; None in the bay, and where no question is asked."""
    asking = isinstance(walk.step, steps.DangerScreen | steps.MakeCheck | steps.ChooseCondition)
    if walk.audience is Audience.BAY or walk.case.complaint is None or walk.case.repairs or not asking:
        return None
    try:
        row = sum(entropy(walk) >= edge for edge in EDGES)
    except EngineError:
        return None
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
    return f"question {asked + 1}, {f'about {middle} more ({few} to {most})' if middle else 'nearly done'}"
