"""The first seconds of a log and its migration under kill -9; every answer flushed to the disk before it is told.

A kill leaves what was written in the system's memory, so it cannot tell a log that flushes from one that does
not: that is looked at from outside, call by call.
"""

import os
import random
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import sqlalchemy as sa
from storage_faults import Figure, closing, forked, new_case, note, troubles

from comeback.engine.case_log import tables
from comeback.engine.case_log.store import open_log
from comeback.engine.learning.counts import cause_counts


def killed_at_birth(folder: Path, times: int, seed: int = 1) -> Figure:
    """kill -9 while the file is made, its tables are made, or the first answers are written."""
    chance, unfinished, told, lost, broken = random.Random(seed), 0, 0, 0, 0
    longest = _seconds(lambda number: _begin(folder / f"whole {number}", answers=5))
    for number in range(times):
        place, said = folder / f"{number}.db", folder / f"{number}.said"
        _kill(forked(_begin(folder / str(number), answers=10_000)), 1.3 * chance.random() * longest)
        case, *answers = said.read_text().splitlines() if said.exists() and said.stat().st_size else [""]
        unfinished += not case
        told += len(answers)
        broken += len(troubles(place))
        if case:
            log = open_log(place)
            lost += max(0, 1 + len(answers) - len(log.events(case)))
            log.close()
    text = f"{unfinished} before there was a case; {told} answers acknowledged, {lost} lost, {broken} logs broken"
    return f"kill -9 of {times} new logs as they are made", text, lost == 0 and broken == 0 and unfinished > 0


def _begin(name: Path, answers: int) -> Callable[[], None]:
    """Make a log, open a case, answer; each is noted in a file beside the log once it is acknowledged."""

    def work() -> None:
        with name.with_suffix(".said").open("ab", buffering=0) as out:
            log = open_log(name.with_suffix(".db"))
            case = new_case(log)
            out.write(f"{case}\n".encode())
            for n in range(1, answers + 1):
                log.append(case, n, [note(f"answer {n}")], "k1")
                out.write(b"answer\n")

    return work


def _migrate(old: Path, place: Path) -> Callable[[], None]:
    """Bring a copy of the old log up to date."""
    shutil.copy(old, place)
    return lambda: open_log(place).close()


def _make_copies(connection: sa.Connection) -> None:
    """A step that takes long enough to be killed in."""
    for number in range(40):
        connection.execute(sa.text(f"CREATE TABLE copy_{number} AS SELECT * FROM event"))


def _make_index(connection: sa.Connection) -> None:
    connection.execute(sa.text("CREATE INDEX event_at ON event (at)"))


def _seconds(made: Callable[[int], Callable[[], None]]) -> float:
    """How long such work takes here when nobody kills it, the shortest of three times."""
    taken = []
    for number in range(3):
        work, start = made(number), time.perf_counter()
        os.waitpid(forked(work), 0)
        taken.append(time.perf_counter() - start)
    return min(taken)


def killed_while_migrating(folder: Path, times: int, seed: int = 1) -> Figure:
    """kill -9 of a program that brings a log of the first version up to date: it is whole the next time.

    The two steps are such as a later version would have.
    """
    old, chance, unfinished, wrong = _first_version(folder / "old.db", 30), random.Random(seed), 0, 0
    tables.MIGRATIONS = (_make_copies, _make_index)
    longest = _seconds(lambda number: _migrate(old, folder / f"whole {number}.db"))
    for number in range(times):
        place = folder / f"{number}.db"
        _kill(forked(_migrate(old, place)), 1.3 * chance.random() * longest)
        unfinished += _version(place) < tables.latest()
        log = open_log(place)
        counted = sum(count for *_, count in cause_counts(log))
        wrong += (len(log.cases()), counted, troubles(place)) != (30, 30, ())
        log.close()
    tables.MIGRATIONS = ()
    text = f"{unfinished} before it was done; {wrong} logs not whole afterwards"
    return f"kill -9 of {times} migrations", text, wrong == 0 and unfinished > 0


def _first_version(place: Path, cases: int) -> Path:
    """A log of the first version, of closed cases."""
    log = open_log(place)
    for _ in range(cases):
        log.append(new_case(log), 1, closing(), "k1")
    with log.engine.connect() as connection:
        connection.commit()
        connection.connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
    log.close()
    return place


def _version(place: Path) -> int:
    connection = sqlite3.connect(place)
    found: int = connection.execute("SELECT max(number) FROM log_version").fetchone()[0]
    connection.close()
    return found


def _kill(child: int, wait: float) -> None:
    time.sleep(wait)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)


ANSWERING = """
import os, sys
from storage_faults import new_case, note
from comeback.engine.case_log.store import open_log
log = open_log(sys.argv[1])
case = new_case(log)
for number in range(1, int(sys.argv[2]) + 1):
    log.append(case, number, [note("answer")], "k1")
    os.write(1, b"acknowledged\\n")
"""
_FLUSHED = re.compile(r"\bf(data)?sync\(\d+<([^>]*)>\)? .*= 0$")


def flushed(folder: Path, answers: int) -> Figure | None:
    """Between any two acknowledged answers the log is flushed to the disk; None if calls cannot be traced here."""
    if not can_trace():
        return None
    place, calls = folder / "flushed.db", folder / "calls"
    trace = ["strace", "-f", "-y", "-qq", "-o", str(calls), "-e", "trace=fsync,fdatasync,write"]
    program = [sys.executable, "-c", ANSWERING, str(place), str(answers)]
    path = os.pathsep.join([str(Path(__file__).parent), os.environ.get("PYTHONPATH", "")])
    subprocess.run([*trace, *program], check=True, stdout=subprocess.DEVNULL, env={**os.environ, "PYTHONPATH": path})
    told = before = flushes = 0
    for line in calls.read_text().splitlines():
        found = _FLUSHED.search(line)
        flushes += found is not None and found[2].startswith(str(place))
        if "acknowledged" in line:
            told, flushes, before = told + 1, 0, before + (flushes > 0)
    text = f"{told} answers acknowledged, {before} of them flushed before"
    return "each answer flushed to the disk", text, told == before == answers


def can_trace() -> bool:
    """True if there is strace and it may trace here."""
    return bool(shutil.which("strace")) and not _fails(["strace", "-o", os.devnull, "true"])


def _fails(command: list[str]) -> bool:
    return bool(subprocess.run(command, capture_output=True, check=False).returncode)
