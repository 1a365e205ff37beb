"""Rehearsals on all cores: cars are drawn, sorted so that walks that begin alike share their work, and walked."""

import signal
import sys
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from dataclasses import dataclass

from comeback.cli.command_line import UsageError
from comeback.engine.rehearsal.rehearsal import Rehearsal, Rehearsed
from comeback.engine.rehearsal.simulation import Chance, Comeback, Slack, draw_comeback
from comeback.kb.schema import KnowledgeBase

PIECE, LARGE_PIECE = 10, 60
"""Comebacks that a process takes at a time, least and most: the more, the more of the work they share."""
CALLER_FACTOR = 1.5
"""A caller, without tools and with the car in mind, errs so many times as often as asked; a technician as often."""


@dataclass(frozen=True)
class Wanted:
    """What to rehearse; chances are 0 to 1."""

    walks: int
    seed: int
    service: str | None = None
    complaint: str | None = None
    evenly: bool = False
    wrong: float = 0.0
    unknown: float = 0.0

    def rehearsal(self, knowledge: KnowledgeBase) -> Rehearsal:
        """People and memory for the walks of one process."""
        caller = Slack(min(0.45, self.wrong * CALLER_FACTOR), min(0.45, self.unknown * CALLER_FACTOR))
        return Rehearsal(knowledge, caller, Slack(self.wrong, self.unknown))

    def draw(self, knowledge: KnowledgeBase, number: int) -> Comeback:
        """The comeback of this number. Raises UsageError if the knowledge has none like it."""
        seed = int(Chance(self.seed).of("comeback", number) * 2**53)
        car = draw_comeback(knowledge, seed, self.service, self.complaint, self.evenly)
        if car is None:
            wanted = " and ".join(filter(None, (self.service, self.complaint))) or "any service"
            raise UsageError(f"No car comes back like that ({wanted}). Try another complaint or service.")
        return car


_worker: tuple[Wanted, KnowledgeBase, Rehearsal]


def _start(wanted: Wanted, knowledge: KnowledgeBase) -> None:
    """A process of its own; Ctrl-C ends it quietly."""
    global _worker
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    _worker = (wanted, knowledge, wanted.rehearsal(knowledge))


def _groups(numbers: list[int]) -> list[tuple[str, str]]:
    """Service and complaint of each number's comeback."""
    wanted, knowledge, _ = _worker
    return [(car.service, car.complaint) for car in (wanted.draw(knowledge, n) for n in numbers)]


def _walk(numbers: list[int]) -> list[tuple[int, Rehearsed]]:
    wanted, knowledge, rehearsal = _worker
    return [(number, rehearsal.run(wanted.draw(knowledge, number))) for number in numbers]


def rehearse(wanted: Wanted, knowledge: KnowledgeBase, jobs: int) -> list[Rehearsed]:
    """All comebacks in the order of their numbers, whatever the number of processes."""
    global _worker
    numbers = list(range(wanted.walks))
    progress = Progress(wanted.walks)
    if jobs == 1 or wanted.walks <= PIECE:
        _worker = (wanted, knowledge, wanted.rehearsal(knowledge))
        pieces = _alike(numbers, _groups(numbers))
        rows = [row for piece in pieces for row in progress.over(_walk(piece))]
    else:
        with ProcessPoolExecutor(jobs, initializer=_start, initargs=(wanted, knowledge)) as pool:
            try:
                rows = _in_parallel(pool, numbers, progress)
            except BaseException:
                pool.shutdown(wait=False, cancel_futures=True)
                raise
    progress.end()
    return [row for _, row in sorted(rows, key=lambda pair: pair[0])]


def _in_parallel(pool: ProcessPoolExecutor, numbers: list[int], progress: "Progress") -> list[tuple[int, Rehearsed]]:
    size = 200
    chunks = [numbers[k : k + size] for k in range(0, len(numbers), size)]
    groups = [group for found in pool.map(_groups, chunks) for group in found]
    waiting = [pool.submit(_walk, piece) for piece in _alike(numbers, groups)]
    return [row for done in _as_done(waiting) for row in progress.over(done)]


def _as_done(waiting: Iterable[Future[list[tuple[int, Rehearsed]]]]) -> Iterator[list[tuple[int, Rehearsed]]]:
    for future in as_completed(waiting):
        yield future.result()


def _alike(numbers: list[int], groups: list[tuple[str, str]]) -> list[list[int]]:
    """Pieces of comebacks with the same service and complaint, the largest groups first."""
    by_group: dict[tuple[str, str], list[int]] = {}
    for number, group in zip(numbers, groups, strict=True):
        by_group.setdefault(group, []).append(number)
    ordered = sorted(by_group.values(), key=len, reverse=True)
    size = max(PIECE, min(LARGE_PIECE, len(numbers) // 100))
    return [group[k : k + size] for group in ordered for k in range(0, len(group), size)]


@dataclass
class Progress:
    """A line on standard error that says how far it is; only on a terminal."""

    whole: int
    done: int = 0
    write: Callable[[str], object] = sys.stderr.write

    def over(self, rows: list[tuple[int, Rehearsed]]) -> list[tuple[int, Rehearsed]]:
        """Count these rows and give them back."""
        self.done += len(rows)
        self._show(f"\rrehearsed {self.done} of {self.whole} comebacks")
        return rows

    def end(self) -> None:
        """Clear the line."""
        self._show("\r" + " " * 60 + "\r")

    def _show(self, text: str) -> None:
        if sys.stderr.isatty():
            self.write(text)
            sys.stderr.flush()
