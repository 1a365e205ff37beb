"""Seconds and peak memory of `comeback learn` over a log of invented closed cases.

    python tests/benchmarks/bench_learning.py [--cases 100000,1000000] [--postgres URL]

Fills the tables that learning counts (a case has one cause, ten findings and three predictions; 50 shops;
causes as frequent as the shipped knowledge says), runs the command in a process of its own and prints a
Markdown table. PostgreSQL is measured if a URL is given, or in COMEBACK_TEST_POSTGRES; its tables are
dropped. What the events of the cases take is not measured: learning does not read them. It reads sums that
the log keeps in step as cases close; adding all of them up at once is a column of its own.
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
from comeback.engine.case_log.sums import count_anew
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
    heads = ("database", "closed cases", "findings", "filled in s", "added up in s", "learned in s", "CPU s", "peak MB")
    print(f"| {' | '.join(heads)} | to revise |")
    print("|---|--:|--:|--:|--:|--:|--:|--:|--:|", flush=True)
    for cases in map(int, chosen.cases.split(",")):
        with tempfile.TemporaryDirectory() as folder:
            line("SQLite", f"{folder}/cases.db", cases)
        if chosen.postgres:
            line("PostgreSQL", chosen.postgres, cases)


def line(name: str, place: str, cases: int) -> None:
    """Fill one log, learn from it, and print its line."""
    start = time.perf_counter()
    findings, adding = fill(place, cases)
    filled = time.perf_counter() - start - adding
    done = subprocess.run(
        [sys.executable, __file__, "--measure", place], capture_output=True, text=True, check=True, timeout=600
    )
    found = json.loads(done.stdout)
    cells = [
        name,
        f"{cases:,}",
        f"{findings:,}",
        f"{filled:.0f}",
        f"{adding:.1f}",
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


def fill(place: str, cases: int) -> tuple[int, float]:
    """Write the rows of the cases; returns the number of findings and the seconds for adding them up."""
    if "://" in place:
        return fill_postgres(place, cases)
    open_log(place).close()
    connection = sqlite3.connect(place)
    connection.execute("PRAGMA synchronous=OFF")
    causes, findings, predictions = tables(cases)
    connection.executemany("INSERT INTO outcome_cause (shop, service, cause, case_id) VALUES (?,?,?,?)", causes)
    sql = "INSERT INTO outcome_finding (shop, cause, check_id, result, case_id) VALUES (?,?,?,?,?)"
    count = connection.executemany(sql, findings).rowcount
    sql = "INSERT INTO outcome_prediction (bin, case_id, cause, chance, found) VALUES (?,?,?,?,?)"
    connection.executemany(sql, predictions)
    connection.commit()
    connection.close()
    return count, added_up(place)


def fill_postgres(url: str, cases: int) -> tuple[int, float]:
    """The same by COPY, into an empty schema."""
    import psycopg

    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute("DROP SCHEMA public CASCADE")
        connection.execute("CREATE SCHEMA public")
        open_log(url).close()
        counts = []
        names = ("outcome_cause", "outcome_finding", "outcome_prediction")
        for name, rows in zip(names, tables(cases), strict=True):
            columns = {
                "outcome_cause": "shop, service, cause, case_id",
                "outcome_finding": "shop, cause, check_id, result, case_id",
                "outcome_prediction": "bin, case_id, cause, chance, found",
            }[name]
            with connection.cursor() as cursor:
                with cursor.copy(f"COPY {name} ({columns}) FROM STDIN") as copy:
                    for row in rows:
                        copy.write_row(row)
                counts.append(cursor.rowcount)
        connection.execute("ANALYZE")
    return counts[1], added_up(url)


def added_up(place: str) -> float:
    """Seconds for adding all of it up in the database, as when an older log is brought up to date."""
    log = open_log(place)
    start = time.perf_counter()
    with log.transaction() as connection:
        count_anew(connection)
    log.close()
    return time.perf_counter() - start


def tables(cases: int) -> tuple[Rows, Rows, Rows]:
    """Rows of causes, findings and predictions, each in the order of its table."""
    return causes_of(cases), findings_of(cases), predictions_of(cases)


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


def predictions_of(cases: int) -> Rows:
    """(class, case, cause, chance, found): three causes a case; they come true as often as was said."""
    chance = random.Random(2)
    for place in range(10):
        for number in range(cases * 3 * place // 10, cases * 3 * (place + 1) // 10):
            given = (place + chance.random()) / 10
            yield place, f"{number // 3:X}", f"cause {number % 3}", given, int(chance.random() < given)


if __name__ == "__main__":
    main()
