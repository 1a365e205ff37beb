"""Work spread over all cores, and the line on a terminal that says how far it is."""

import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from comeback.cli.numbers import number_in

Shared = TypeVar("Shared")
Task = TypeVar("Task")
Result = TypeVar("Result")
_shared: list[object] = []
"""In a process of the pool: what `begin` made there, once."""


def available_cores() -> int:
    """Cores that this process may use; COMEBACK_CORES, if it is a number, sets fewer."""
    there = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return number_in(os.environ.get("COMEBACK_CORES", ""), there) or there


def spread(
    begin: Callable[[], Shared], work: Callable[[Shared, Task], Result], tasks: Sequence[Task], jobs: int
) -> Iterator[Result]:
    """`work(begin(), task)` for each task, in the order of the tasks, in up to `jobs` processes.

    `begin` runs once in each process; with one job everything stays in this one. Both functions, the tasks and the
    results must be picklable. Processes are spawned, not forked: the libraries in use have threads.
    """
    if jobs == 1 or len(tasks) <= 1:
        shared = begin()
        yield from (work(shared, task) for task in tasks)
        return
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    with ProcessPoolExecutor(min(jobs, len(tasks)), get_context("spawn"), _begin, (begin,)) as pool:
        try:
            yield from pool.map(_work, [work] * len(tasks), tasks)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise


def _begin(begin: Callable[[], object]) -> None:
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # Ctrl-C ends it quietly
    _shared[:] = [begin()]


def _work(work: Callable[[object, Task], Result], task: Task) -> Result:
    return work(_shared[0], task)


def show_progress(text: str = "") -> None:
    """Replace the progress line on standard error, if that is a terminal; without text, clear it."""
    if sys.stderr.isatty():
        print(f"\r\033[K{text[:79]}", end="", file=sys.stderr, flush=True)
