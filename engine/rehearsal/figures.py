"""What many rehearsed comebacks add up to, as plain figures that say what they count.

n  comebacks      w  ways to work; shares are of n, minutes are the planner's
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from comeback.engine.belief.network import Vector
from comeback.engine.rehearsal.rehearsal import ENDS, GUIDED, SOLVED, WAYS, Rehearsed, WorkOutcome
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Disposition


@dataclass(frozen=True)
class WayFigures:
    """One way to work on all n cars.

    `ends`: cars by end. `minutes`: mean, median and the 90 % that are not exceeded, hand-over included.
    `saved`: minutes that the guided walk takes less, mean over the same cars, with `spread`, two standard
    errors of it. `needless`: repairs per 100 cars that could remove nothing the car had. `steps`: mean screens,
    and the 90 % that are not exceeded.
    """

    way: str
    ends: dict[str, int]
    mean: float
    median: float
    ninety: float
    steps: float
    steps_ninety: float
    repairs: float
    needless: float
    saved: float
    spread: float


@dataclass(frozen=True)
class Figures:
    """All of it.

    `milder`: calls whose advice was milder than a cause present needs, no sign of it being reported;
    `solved`: calls after which the caller stays away, `solved_wrongly`: those of them whose car comes in after all;
    `harsher`: more urgent than any cause present needs, `much_harsher`: by two levels or more,
    of those `signed` for a danger sign that the car has;
    `known`: mean minutes if the causes were known beforehand. Per 100 cars of the guided walk: `call_backs`, times
    the bay asked for what only the customer knows, and `again`, times it was asked to look again.
    """

    walks: int
    several: int
    unsafe: tuple[str, ...]
    milder: int
    solved: int
    solved_wrongly: int
    harsher: int
    much_harsher: int
    signed: int
    advice: dict[str, int]
    call_minutes: float
    questions: float
    known: float
    call_backs: float
    again: float
    ways: tuple[WayFigures, ...]


def figures(knowledge: KnowledgeBase, rows: Sequence[Rehearsed]) -> Figures:
    """The figures of at least one comeback; the order of the rows does not matter but to rounding."""
    calls = [row.call for row in rows]
    needed = [_needed(knowledge, row) for row in rows]
    given = [Disposition.WATCH if call.advice is None else call.advice for call in calls]
    minutes = {way: np.array([_of(row, way).minutes for row in rows]) for way in WAYS}
    return Figures(
        walks=len(rows),
        several=sum(len(row.comeback.causes) > 1 for row in rows),
        unsafe=tuple(_named(row, why) for row in rows for why in row.call.unsafe),
        milder=sum(g < n for g, n in zip(given, needed, strict=True)),
        solved=sum(call.solved != "" for call in calls),
        solved_wrongly=sum(row.call.solved != "" and _of(row, GUIDED).end != SOLVED for row in rows),
        harsher=sum(g > n for g, n in zip(given, needed, strict=True)),
        much_harsher=sum(g >= n + 2 for g, n in zip(given, needed, strict=True)),
        signed=sum(n + 2 <= g < c.signs_allow + 2 for g, n, c in zip(given, needed, calls, strict=True)),
        advice={level.word: sum(g is level for g in given) for level in Disposition},
        call_minutes=_mean([call.minutes for call in calls]),
        questions=_mean([float(call.questions) for call in calls]),
        known=_mean([row.known for row in rows]),
        call_backs=100 * _mean([float(_of(row, GUIDED).call_backs) for row in rows]),
        again=100 * _mean([float(_of(row, GUIDED).again) for row in rows]),
        ways=tuple(_way(way, rows, minutes) for way in WAYS),
    )


def _needed(knowledge: KnowledgeBase, row: Rehearsed) -> Disposition:
    """The advice that the gravest cause needs, without those that the caller removed; a tow if it cannot start."""
    if not (row.call.starts or row.call.solved):
        return max(Disposition.TOW, *(knowledge.causes[cause].drive for cause in row.comeback.causes))
    removed = knowledge.repairs[row.call.solved].removes if row.call.solved else {}
    left = (knowledge.causes[cause].drive for cause in row.comeback.causes if cause not in removed)
    return max(left, default=Disposition.WATCH)


def _of(row: Rehearsed, way: str) -> WorkOutcome:
    return next(outcome for outcome in row.outcomes if outcome.way == way)


def _named(row: Rehearsed, why: str) -> str:
    car = row.comeback
    return f"after {car.service}, {car.complaint} ({', '.join(car.causes)}; car {car.seed}): {why}"


def _mean(values: Sequence[float]) -> float:
    """Plain mean."""
    return float(np.mean(values))


def _way(way: str, rows: Sequence[Rehearsed], minutes: dict[str, Vector]) -> WayFigures:
    """The figures of one way to work on all cars."""
    outcomes = [_of(row, way) for row in rows]
    less = minutes[way] - minutes[GUIDED]
    error = 2 * float(less.std(ddof=1)) / len(rows) ** 0.5 if len(rows) > 1 else 0.0
    return WayFigures(
        way=way,
        ends={end: sum(o.end == end for o in outcomes) for end in ENDS},
        mean=float(minutes[way].mean()),
        median=float(np.median(minutes[way])),
        ninety=float(np.quantile(minutes[way], 0.9)),
        steps=_mean([o.steps for o in outcomes]),
        steps_ninety=float(np.quantile([o.steps for o in outcomes], 0.9)),
        repairs=_mean([o.repairs for o in outcomes]),
        needless=100 * _mean([o.needless for o in outcomes]),
        saved=float(less.mean()),
        spread=error,
    )
