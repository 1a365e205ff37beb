"""What the program survives: prints a table of faults with figures; exit code 1 if any is not as it must be.

python tests/faults/faults.py               all of it, some minutes
python tests/faults/faults.py --short       a small version, as in the tests
python tests/faults/faults.py --only 123    show what hostile input 123 is and what it leads to
python tests/faults/faults.py --kills 1000 --inputs 10000
python tests/faults/faults.py --part inputs --first 5000 --inputs 100
"""

import argparse
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import durability_faults as durability
import server_faults as server
import storage_faults as storage
from bombs import bombs
from hostile_inputs import attempt, hostile, template
from storage_faults import Figure

PARTS = ("all", "storage", "flush", "bombs", "inputs")


def main() -> int:
    """Read the arguments, print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--short", action="store_true")
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--inputs", type=int, default=10_000)
    parser.add_argument("--part", choices=PARTS, default="all", help="only these rows")
    parser.add_argument("--first", type=int, default=0, help="number of the first hostile input")
    parser.add_argument("--only", type=int, metavar="N")
    chosen = parser.parse_args()
    if chosen.only is not None:
        return show(chosen.only)
    if chosen.short:
        chosen.kills, chosen.inputs = 12, 120
    print("| fault | found | seconds | as it must be |\n|---|---|--:|---|", flush=True)
    good = True
    for work in faults(chosen):
        with tempfile.TemporaryDirectory() as place:
            os.chmod(place, 0o755)
            start = time.perf_counter()
            what, found, fine = work(Path(place)) or ("one fault", "skipped: PostgreSQL or strace is not here", True)
        good = good and fine
        print(f"| {what} | {found} | {time.perf_counter() - start:.0f} | {'yes' if fine else 'NO'} |", flush=True)
    return 0 if good else 1


def faults(chosen: argparse.Namespace) -> Iterator[Callable[[Path], Figure | None]]:
    """Everything to try, each in a folder of its own."""
    if chosen.part in ("all", "storage"):
        yield from storage_faults(chosen)
    if chosen.part == "flush" or (chosen.part == "all" and not chosen.short):
        yield lambda folder: durability.flushed(folder, 50)
    if chosen.part in ("all", "bombs"):
        yield bombs
    if chosen.part in ("all", "inputs"):
        yield lambda folder: inputs(chosen.inputs, chosen.first)


def storage_faults(chosen: argparse.Namespace) -> Iterator[Callable[[Path], Figure | None]]:
    """What may happen to the file or the database."""
    few = 3 if chosen.short else 50
    yield lambda folder: storage.killed(folder, chosen.kills)
    yield lambda folder: durability.killed_at_birth(folder, max(chosen.kills // 4, 12))
    yield lambda folder: durability.killed_while_migrating(folder, max(chosen.kills // 10, 12))
    yield storage.disk_full
    yield storage.read_only
    yield lambda folder: storage.writers_at_once(folder / "w.db", 8, few, "SQLite")
    yield storage.clock_backwards
    if not chosen.short:
        yield lambda folder: server.restarted(folder, 10)
        yield lambda folder: server.stopped_in_flight(folder, 10)


def inputs(count: int, first: int) -> Figure:
    """Hostile inputs to every command and file format."""
    found = hostile(count, first)
    for said in found.bad[:20]:
        print(said, file=sys.stderr)
    codes = ", ".join(f"{number} with exit code {code}" for code, number in sorted(found.codes.items()))
    return f"{count:,} hostile inputs", f"{len(found.bad)} tracebacks; {codes}", not found.bad


def show(number: int) -> int:
    """One hostile input and what it leads to."""
    with tempfile.TemporaryDirectory() as place:
        good = Path(place) / "good"
        good.mkdir()
        case = template(good)
        kind, code, said = attempt(number, good, case)
    print(f"{kind}: {code}\n{said[:5000]}")
    return code == "traceback"


if __name__ == "__main__":
    sys.exit(main())
