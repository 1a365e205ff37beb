"""PostgreSQL that stops as in a power cut: between answers, and with commits in flight."""

import os
import random
import subprocess
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from storage_faults import Figure, forked, new_case, note, writers_at_once

from comeback.engine.case.case import read_case
from comeback.engine.case_log.protocol import CaseLogError
from comeback.engine.case_log.store import open_log
from comeback.engine.case_log.upkeep import verify

SERVER = Path(__file__).parent.parent.parent / ".ci" / "postgres"


@contextmanager
def server(folder: Path) -> Iterator[str]:
    """The URL of a throw-away server; empty if its binaries or the driver are not there."""
    started = subprocess.run([SERVER, "start", folder], capture_output=True, text=True, check=False)
    url = started.stdout.strip() if not started.returncode else ""
    try:
        if url:
            open_log(url).close()
    except CaseLogError:  # the driver is not installed
        url = ""
    try:
        yield url
    finally:
        if not started.returncode:
            subprocess.run([SERVER, "stop", folder], check=True)


def restarted(folder: Path, times: int) -> Figure | None:
    """PostgreSQL stops and starts again in the middle of a walk; None if it is not there."""
    with server(folder / "server") as url:
        if not url:
            return None
        log = open_log(url)
        case, number, outages, said = new_case(log), 1, 0, 0
        for _ in range(times):
            number = log.append(case, number, [note("before")], "k1")[0].number
            _server("halt", folder / "server")
            outages += 1
            try:
                log.append(case, number, [note("meanwhile")], "k1")
            except CaseLogError as error:
                said += "\n" not in str(error) and "everything recorded so far is kept" in str(error)
            _server("go", folder / "server")
            number = log.append(case, number, [note("after")], "k1")[0].number
        lost, broken = number - len(log.events(case)), verify(log).troubles
        log.close()
        writers = writers_at_once(url, 8, 10, "PostgreSQL")
    text = f"{outages} outages, {said} told in one line, {lost} answers lost; then {writers[0]}: {writers[1]}"
    good = said == outages and not lost and not broken and writers[2]
    return "PostgreSQL restarted in the middle of a walk", text, good


def stopped_in_flight(folder: Path, times: int, writers: int = 6, seed: int = 1) -> Figure | None:
    """PostgreSQL stops while all writers append without pause; None if it is not there.

    What was acknowledged is there once. What was reported as failed may be there (its commit was in doubt), once.
    """
    with server(folder / "server") as url:
        if not url:
            return None
        log, chance, done = open_log(url), random.Random(seed), folder / "done"
        cases = [new_case(log) for _ in range(writers)]
        log.engine.dispose()
        children = [forked(_without_pause(url, case, folder / case, done)) for case in cases]
        for _ in range(times):
            time.sleep(0.2 + chance.random())
            _server("halt", folder / "server")
            _server("go", folder / "server")
        time.sleep(0.5)
        done.touch()
        ended = [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children]
        found = [_compared(read_case(log.events(case)).notes, (folder / case).read_text()) for case in cases]
        broken = verify(log).troubles
        log.close()
    told, failed, lost, doubled, doubtful = map(sum, zip(*found, strict=True))
    text = f"{told:,} answers acknowledged, {lost} lost, {doubled} doubled; {failed} reported as failed, "
    text += f"{doubtful} of them recorded; {len(broken)} broken links"
    good = not (any(ended) or lost or doubled or broken) and told > 0 and failed >= times
    return f"PostgreSQL stopped {times} times with commits in flight", text, good


def _without_pause(url: str, case: str, said: Path, done: Path) -> Callable[[], None]:
    """Append one answer after the other, and note for each if it was acknowledged."""

    def work() -> None:
        log, number, n = open_log(url), 1, 0
        with said.open("ab", buffering=0) as out:
            while not done.exists():
                n += 1
                try:
                    number = log.append(case, number, [note(str(n))], "k1")[0].number
                    out.write(f"yes {n}\n".encode())
                except CaseLogError as error:
                    if "\n" in str(error):
                        raise
                    out.write(f"no {n}\n".encode())
                    number = _length(log, case)

    return work


def _length(log, case: str) -> int:  # type: ignore[no-untyped-def]
    """Events of the case, as soon as the server is back."""
    for _ in range(600):
        try:
            return len(log.events(case))
        except CaseLogError:
            time.sleep(0.05)
    raise TimeoutError("the server did not come back")


def _compared(notes: tuple[tuple[str, str, str], ...], said: str) -> tuple[int, int, int, int, int]:
    """(acknowledged, reported as failed, lost, doubled, failed and yet recorded)."""
    there = Counter(text for _, _, text in notes)
    told: dict[str, list[str]] = {"yes": [], "no": []}
    for line in said.splitlines():
        word, _, n = line.partition(" ")
        told[word].append(n)
    lost = sum(not there[n] for n in told["yes"])
    doubled = sum(count - 1 for count in there.values())
    return len(told["yes"]), len(told["no"]), lost, doubled, sum(there[n] > 0 for n in told["no"])


def _server(action: str, folder: Path) -> None:
    subprocess.run([SERVER, action, folder], check=True)
