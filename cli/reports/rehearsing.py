"""Rehearsals on all cores: cars are drawn, sorted so that walks that begin alike share their work, and walked."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from comeback.cli.errors import UsageError
from comeback.cli.parallel import show_progress, spread
from comeback.engine.rehearsal.rehearsal import Rehearsal, Rehearsed
from comeback.engine.rehearsal.simulation import Chance, Comeback, Slack, draw_comeback
from comeback.kb.schema import KnowledgeBase

CHUNK = 200
"""Comebacks drawn at a time."""
PIECE, LARGE_PIECE = 10, 60
"""Comebacks that a process takes at a time, least and most: the more, the more of the work they share."""
CALLER_FACTOR = 1.5
"""A caller, without tools and with the car in mind, errs so many times as often as asked; a technician as often."""


@dataclass(frozen=True)
class Wanted:
    """What to rehearse; chances are 0 to 1. `even`: people err as often at every sign."""

    walks: int
    seed: int
    service: str | None = None
    complaint: str | None = None
    wrong: float = 0.0
    unknown: float = 0.0
    even: bool = False

    def draw(self, knowledge: KnowledgeBase, number: int) -> Comeback:
        """The comeback of this number. Raises UsageError if the knowledge has none like it."""
        seed = int(Chance(self.seed).of("comeback", number) * 2**53)
        car = draw_comeback(knowledge, seed, self.service, self.complaint)
        if car is None:
            wanted = " and ".join(filter(None, (self.service, self.complaint))) or "any service"
            raise UsageError(f"No car comes back like that ({wanted}). Try another complaint or service.")
        return car


def rehearse(wanted: Wanted, knowledge: KnowledgeBase, jobs: int) -> list[Rehearsed]:
    """All comebacks in the order of their numbers, whatever the number of processes."""
    begin = partial(_Rehearsing, wanted, knowledge)
    chunks = [range(first, min(first + CHUNK, wanted.walks)) for first in range(0, wanted.walks, CHUNK)]
    groups = [group for found in spread(begin, _Rehearsing.groups, chunks, jobs) for group in found]
    rows: list[tuple[int, Rehearsed]] = []
    try:
        for done in spread(begin, _Rehearsing.walk, _alike(groups), jobs):
            rows += done
            show_progress(f"rehearsed {len(rows)} of {wanted.walks} comebacks")
    finally:
        show_progress()
    return [row for _, row in sorted(rows, key=lambda pair: pair[0])]


class _Rehearsing:
    """What one process needs; walks that begin alike share what it remembers."""

    def __init__(self, wanted: Wanted, knowledge: KnowledgeBase) -> None:
        self.wanted, self.knowledge = wanted, knowledge
        caller = Slack(wanted.wrong * CALLER_FACTOR, wanted.unknown * CALLER_FACTOR, wanted.even)
        self.rehearsal = Rehearsal(knowledge, caller, Slack(wanted.wrong, wanted.unknown, wanted.even))

    def groups(self, numbers: Sequence[int]) -> list[tuple[str, str]]:
        """Service and complaint of each number's comeback."""
        return [(car.service, car.complaint) for car in (self.wanted.draw(self.knowledge, n) for n in numbers)]

    def walk(self, numbers: Sequence[int]) -> list[tuple[int, Rehearsed]]:
        """The comebacks of these numbers, walked."""
        return [(number, self.rehearsal.run(self.wanted.draw(self.knowledge, number))) for number in numbers]


def _alike(groups: Sequence[tuple[str, str]]) -> list[list[int]]:
    """Pieces of comebacks with the same service and complaint, the largest groups first."""
    by_group: dict[tuple[str, str], list[int]] = {}
    for number, group in enumerate(groups):
        by_group.setdefault(group, []).append(number)
    ordered = sorted(by_group.values(), key=len, reverse=True)
    size = max(PIECE, min(LARGE_PIECE, len(groups) // 100))
    return [group[k : k + size] for group in ordered for k in range(0, len(group), size)]
