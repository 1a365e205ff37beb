"""The case log under faults: kill -9, full disk, read-only folder, writers at once, clock backwards.

Each function makes its own log in a folder and returns (what was done, what was found, is it as it must be).
Workers are forked, so that a thousand of them start in a minute.
"""

import os
import random
import resource
import shutil
import signal
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

from comeback.engine.case.case import read_case
from comeback.engine.case.events import Draft
from comeback.engine.case_log.protocol import CaseLogError, CaseMovedOn
from comeback.engine.case_log.store import SqlCaseLog, open_log
from comeback.engine.case_log.upkeep import verify
from comeback.engine.learning.counts import cause_counts

Figure = tuple[str, str, bool]
AT = "2026-03-02T08:15:00+01:00"


def note(text: str, at: str = AT) -> Draft:
    """An answer to record; any kind would do."""
    return Draft("noted", at, "Ida", {"text": text})


def new_case(log: SqlCaseLog) -> str:
    """A case just opened; its id."""
    opening = Draft("opened", AT, "Ida", {"car": "green hatchback", "audience": "phone"})
    return log.open_case(opening, "k1", random.SystemRandom().choice).case


def closing() -> list[Draft]:
    """The drafts that repair and close a case, for learning to count."""
    closed = {"causes": ["lamp-loose"], "repairs": ["screw-in-lamp"], "proven": True}
    return [
        Draft("service", AT, "Ida", {"service": "lamp-change"}),
        Draft("complaint", AT, "Ida", {"complaint": "dark"}),
        Draft("answered", AT, "Ida", {"results": {"lamp-turns": "turns"}}),
        Draft("repaired", AT, "Ida", {"repair": "screw-in-lamp"}),
        Draft("closed", AT, "Ida", closed),
    ]


def forked(work: Callable[[], None]) -> int:
    """Do `work` in a process of its own; returns its id."""
    child = os.fork()
    if child == 0:
        try:
            work()
            os._exit(0)
        except BaseException as error:
            os.write(2, f"{type(error).__name__}: {error}\n".encode())
            os._exit(1)
    return child


def troubles(place: str | Path) -> tuple[str, ...]:
    """What `comeback cases verify` finds."""
    log = open_log(place)
    found = verify(log).troubles
    log.close()
    return found


def killed(folder: Path, times: int, seed: int = 1) -> Figure:
    """kill -9 at random moments while answers are appended; what was acknowledged must be there."""
    place, chance = folder / "killed.db", random.Random(seed)
    told = lost = 0
    for number in range(times):
        log = open_log(place)
        if number % 50 == 0:
            case, before = new_case(log), 1
        log.close()
        acknowledged = _killed_once(place, case, chance.random() * 0.03, opening=chance.random() < 0.2)
        log = open_log(place)
        there = len(log.events(case))
        log.close()
        told, lost = told + max(0, acknowledged - before), lost + max(0, acknowledged - there)
        before = there
    broken = len(troubles(place))
    text = f"{told:,} answers acknowledged, {lost} lost, {broken} broken links"
    return f"kill -9 at {times:,} random moments", text, lost == 0 and broken == 0 and told > 0


def _killed_once(place: Path, case: str, wait: float, opening: bool) -> int:
    """Number of the last event that the worker was told is recorded, 0 if it came to none.

    It is killed after `wait` seconds: from its start, while it is `opening` the log, or from when that is done.
    """
    reading, writing = os.pipe()

    def append() -> None:
        log = open_log(place)
        number = len(log.events(case))
        os.write(writing, b"0\n")
        while True:
            number = log.append(case, number, [note(f"answer {number}")], "k1")[0].number
            os.write(writing, f"{number}\n".encode())

    child = forked(append)
    os.close(writing)
    with os.fdopen(reading) as told:
        if not opening:
            told.readline()
        time.sleep(wait)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        lines = told.read().splitlines()
    return int(lines[-1]) if lines else 0


def disk_full(folder: Path) -> Figure:
    """No room left: a limit on file size, and as root a small file system of its own."""
    limited, small = folder / "limited", folder / "small"
    limited.mkdir()
    small.mkdir()
    found = [_until_full(limited, 1024 * 1024)]
    mounted = (
        os.geteuid() == 0
        and not subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", small], capture_output=True, check=False
        ).returncode
    )
    if mounted:
        try:
            found.append(_until_full(small, 0))
        finally:
            subprocess.run(["umount", small], check=True)
    kinds = "file limit and 2 MB file system" if mounted else "file limit (a small file system needs root)"
    text = f"{sum(n for n, _, _ in found):,} answers kept, {sum(lost for _, lost, _ in found)} lost"
    return f"disk full: {kinds}", text, all(good for _, _, good in found)


def _until_full(full: Path, limit: int) -> tuple[int, int, bool]:
    """(answers kept, lost, told in one line with a remedy); read back from a copy, where there is room."""
    said, copy = full.with_suffix(".said"), full.with_suffix(".copy")

    def fill() -> None:
        if limit:
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
        log = open_log(full / "cases.db")
        case, number = new_case(log), 1
        try:
            while True:
                number = log.append(case, number, [note("x" * 2000)], "k1")[0].number
        except CaseLogError as error:
            said.write_text(f"{case}\n{number}\n{error}")

    os.waitpid(forked(fill), 0)
    case, number, message = said.read_text().split("\n", 2)
    shutil.copytree(full, copy)
    log = open_log(copy / "cases.db")
    kept = len(log.events(case))
    good = not verify(log).troubles and "Free some space" in message and "\n" not in message
    log.close()
    return kept, max(0, int(number) - kept), good and kept >= int(number) > 10


def read_only(folder: Path) -> Figure:
    """A folder and a file that may not be written: one clear line; root becomes nobody first."""
    closed, said = folder / "closed", folder / "said"
    closed.mkdir()
    log = open_log(closed / "cases.db")
    new_case(log)
    log.close()
    said.mkdir(mode=0o777)
    os.chmod(said, 0o777)
    os.chmod(folder, 0o755)
    for path in closed.iterdir():
        os.chmod(path, 0o444)
    os.chmod(closed, 0o555)

    def try_both() -> None:
        if os.geteuid() == 0:
            os.setgid(65534)
            os.setuid(65534)
        for number, place in enumerate((closed / "new.db", closed / "cases.db")):
            try:
                log = open_log(place)
                new_case(log)
            except CaseLogError as error:
                (said / str(number)).write_text(str(error))

    os.waitpid(forked(try_both), 0)
    os.chmod(closed, 0o755)
    lines = [path.read_text() for path in sorted(said.iterdir())]
    good = len(lines) == 2 and all("\n" not in line and "--log" in line for line in lines)
    return "read-only folder and file", f"{len(lines)} of 2 refused with one line and --log", good


def writers_at_once(place: str | Path, writers: int, answers: int, name: str) -> Figure:
    """Each writer appends to a case of its own and to one shared case, where it may have to try again.

    At the end each closes its own: they all add to what learning counts.
    """
    log = open_log(place)
    shared, own = new_case(log), [new_case(log) for _ in range(writers)]
    log.close()

    def write(mine: str) -> Callable[[], None]:
        def work() -> None:
            log = open_log(place)
            for number in range(1, answers + 1):
                log.append(mine, number, [note("mine")], "k1")
                _append_somehow(log, shared)
            log.append(mine, answers + 1, closing(), "k1")
            log.close()

        return work

    children = [forked(write(mine)) for mine in own]
    ended = [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children]
    log = open_log(place)
    there = [len(log.events(case)) - 1 - len(closing()) * (case != shared) for case in (*own, shared)]
    learned = sum(count for *_, count in cause_counts(log))
    log.close()
    wrong = sum(abs(n - answers) for n in there[:-1]) + abs(there[-1] - writers * answers)
    found = troubles(place)
    text = f"{sum(there):,} answers, {wrong} lost or doubled, {learned} of {writers} closed cases counted, "
    text += f"{len(found)} broken links"
    good = not wrong and not any(ended) and not found and learned == writers
    return f"{writers} writers at once, {name}", text, good


def _append_somehow(log: SqlCaseLog, case: str) -> None:
    while True:
        try:
            log.append(case, len(log.events(case)), [note("shared")], "k1")
            return
        except CaseMovedOn:
            continue


def clock_backwards(folder: Path) -> Figure:
    """Each event is an hour, a year or a time zone before the last: order and chain follow the numbers."""
    log = open_log(folder / "clock.db")
    case = new_case(log)
    times = ["2026-03-02T07:15:00+01:00", "2025-03-02T07:15:00+01:00", "2026-10-25T02:30:00+01:00"]
    times += ["2026-10-25T02:30:00+02:00", "1970-01-01T00:00:00+00:00", "2026-03-02T08:15:00-11:00"]
    for number, at in enumerate(times, 1):
        log.append(case, number, [note(str(number), at)], "k1")
    texts = [text for _, _, text in read_case(log.events(case)).notes]
    good = texts == [str(n) for n in range(1, len(times) + 1)] and not verify(log).troubles and len(log.cases()) == 1
    log.close()
    return "clock going backwards", f"{len(times)} events in order, chain {'intact' if good else 'BROKEN'}", good
