"""Seconds and peak memory of `comeback learn` over a log of invented closed cases.

    python tests/benchmarks/bench_learning.py [--cases 100000,1000000] [--postgres URL]

Fills the tables that learning counts (a case has one cause, ten findings; 50 shops;
causes as frequent as the shipped knowledge says), runs the command in a process of its own and prints a
Markdown table. PostgreSQL is measured if a URL is given, or in COMEBACK_TEST_POSTGRES; its tables are
dropped. What the events of the cases take is not measured: learning reads only those of the latest few hundred.
"""

import argparse
import json
import os
import random
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from itertools import accumulate

from comeback.engine.case_log.store import open_log
from comeback.kb import load_knowledge

SHOPS, FINDINGS = 50, 10
Rows = Iterator[tuple[object, ...]]


def main() -> None:
    """Read the arguments and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cases", default="100000,1000000", help="numbers of closed cases")
    parser.add_argument("--postgres", default=os.environ.get("COMEBACK_TEST_POSTGRES", ""), metavar="URL")
    parser.add_argument("--measure", metavar="LOG", help="only run the command on this log")
    chosen = parser.parse_args()
    if chosen.measure:
        measure(chosen.measure)
        return
    heads = ("database", "closed cases", "findings", "filled in s", "learned in s", "CPU s", "peak MB")
    print(f"| {' | '.join(heads)} | to revise |")
    print("|---|--:|--:|--:|--:|--:|--:|--:|", flush=True)
    for cases in map(int, chosen.cases.split(",")):
        with tempfile.TemporaryDirectory() as folder:
            line("SQLite", f"{folder}/cases.db", cases)
        if chosen.postgres:
            line("PostgreSQL", chosen.postgres, cases)


def line(name: str, place: str, cases: int) -> None:
    """Fill one log, learn from it, and print its line."""
    start = time.perf_counter()
    findings = fill(place, cases)
    filled = time.perf_counter() - start
    done = subprocess.run(
        [sys.executable, __file__, "--measure", place], capture_output=True, text=True, check=True, timeout=600
    )
    found = json.loads(done.stdout)
    cells = [
        name,
        f"{cases:,}",
        f"{findings:,}",
        f"{filled:.0f}",
        f"{found['seconds']:.1f}",
        f"{found['cpu']:.1f}",
    ]
    cells += [str(round(found["peak_mb"])), str(found["revised"])]
    print(f"| {' | '.join(cells)} |", flush=True)


def measure(place: str) -> None:
    """The command as a user runs it; its time includes the interpreter's start."""
    start = time.perf_counter()
    command = [sys.executable, "-m", "comeback.cli", "learn", "--log", place]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    seconds = time.perf_counter() - start
    revised = int(done.stdout.partition(" to revise")[0].split("\n")[-1].split()[0].replace(",", ""))
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    found = {"seconds": seconds, "cpu": used.ru_utime + used.ru_stime, "peak_mb": used.ru_maxrss / 1024}
    print(json.dumps(found | {"revised": revised}))


def fill(place: str, cases: int) -> int:
    """Write the rows of the cases; returns the number of findings."""
    if "://" in place:
        return fill_postgres(place, cases)
    open_log(place).close()
    connection = sqlite3.connect(place)
    connection.execute("PRAGMA synchronous=OFF")
    sql = "INSERT INTO outcome_cause (shop, service, cause, case_id) VALUES (?,?,?,?)"
    connection.executemany(sql, causes_of(cases))
    sql = "INSERT INTO outcome_finding (shop, cause, check_id, result, case_id) VALUES (?,?,?,?,?)"
    count = connection.executemany(sql, findings_of(cases)).rowcount
    connection.commit()
    connection.close()
    return count


def fill_postgres(url: str, cases: int) -> int:
    """The same by COPY, into an empty schema."""
    import psycopg

    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute("DROP SCHEMA public CASCADE")
        connection.execute("CREATE SCHEMA public")
        open_log(url).close()
        counts = []
        columns = {
            "outcome_cause (shop, service, cause, case_id)": causes_of,
            "outcome_finding (shop, cause, check_id, result, case_id)": findings_of,
        }
        for name, rows in columns.items():
            with connection.cursor() as cursor:
                with cursor.copy(f"COPY {name} FROM STDIN") as copy:
                    for row in rows(cases):
                        copy.write_row(row)
                counts.append(cursor.rowcount)
        connection.execute("ANALYZE")
    return counts[1]


def groups(cases: int) -> Iterator[tuple[str, str, str, range]]:
    """(shop, service, cause, numbers of its cases), by shop and cause."""
    known = load_knowledge()
    services = list(known.services)
    whole = sum(cause.frequency for cause in known.causes.values())
    ends = [0, *(round(cases * part / whole) for part in accumulate(c.frequency for c in known.causes.values()))]
    for shop in range(SHOPS):
        for place, (name, cause) in enumerate(sorted(known.causes.items())):
            numbers = range(ends[place] + shop, ends[place + 1], SHOPS)
            if numbers:
                yield f"shop {shop:02}", cause.service or services[shop % len(services)], name, numbers


def causes_of(cases: int) -> Rows:
    """(shop, service, cause, case)."""
    for shop, service, cause, numbers in groups(cases):
        for number in numbers:
            yield shop, service, cause, f"{number:X}"


def findings_of(cases: int) -> Rows:
    """(shop, cause, check, result, case): results as often as the shipped knowledge says, now and then turned."""
    known, chance = load_knowledge(), random.Random(1)
    for shop, _, cause, numbers in groups(cases):
        for check in sorted(known.causes[cause].shows)[:FINDINGS]:
            weights = known.chances(cause, check)[:: chance.choice((1, 1, 1, -1))]
            drawn = chance.choices(known.checks[check].names, weights, k=len(numbers))
            for result, number in sorted(zip(drawn, numbers, strict=True)):
                yield shop, cause, check, result, f"{number:X}"


if __name__ == "__main__":
    main()
