"""What `comeback cases` does beside showing: verify, note, export, import, delete, backup."""

import argparse
import json
import os
import secrets
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from comeback.cli import exit_codes, places
from comeback.cli.errors import UsageError
from comeback.cli.files import write_new
from comeback.cli.look import tell
from comeback.cli.numbers import counted
from comeback.cli.options import who_of
from comeback.cli.screens.event_text import first_of
from comeback.engine.case.facts import Noted
from comeback.engine.case_log.address import is_database
from comeback.engine.case_log.exchange import export_lines, import_lines
from comeback.engine.case_log.store import SqlCaseLog
from comeback.engine.case_log.upkeep import backup, delete_case, first_line, recount, verify, wiped

LONGEST_LINE = 6_000_000
MOST_NAMES = 5
NAMES_PEOPLE = "This names people and cars: pass it on with care, or export --without-names."
HEADS_FILE, MOST_HEADS = "heads.json", 1000
"""The most logs remembered; the ones that were not looked at for longest are forgotten first."""


def verify_log(given: argparse.Namespace, log: SqlCaseLog) -> int:
    """Every chain and the journal; exit code 5 if anything is not as it was written."""
    _none(given, "verify")
    first = first_line(log)
    kept = seen(log.name, first)
    done = verify(log, given.head or "", "" if given.restored else kept)
    tell(*done.troubles)
    if any(kept and f"head {kept} " in trouble for trouble in done.troubles):
        print(f"Head {kept} was seen here at the last verify. If an older copy was restored on purpose: --restored")
    drills = f", {counted(done.drills, 'drill')}" if done.drills else ""
    gone = f", {done.deleted} deleted" if done.deleted else ""
    counts = f"{counted(done.cases, 'case')}, {counted(done.events, 'event')}{drills}{gone}"
    print(f"{counts}: {'NOT ' if done.troubles else ''}as they were written.")
    if done.troubles:
        return exit_codes.FILES
    if first:
        kept_here = remember(log.name, first, done.head)
        how = ", checked here next time. Elsewhere" if kept_here else " could not be saved: write it down. Next time"
        print(f"Head {done.head}{how}: comeback cases verify --head {done.head}")
    return exit_codes.DONE


def recounted(given: argparse.Namespace, log: SqlCaseLog) -> int:
    """What learning counts, made anew from the events."""
    _none(given, "recount")
    print(f"Recounted for learning: {counted(recount(log), 'closed case')}.")
    return exit_codes.DONE


def note(given: argparse.Namespace, log: SqlCaseLog) -> int:
    """Add a note to a case, also to a closed one."""
    if len(given.what) < 2:
        raise UsageError('Which case, and what note? Type: comeback cases note K7RT "Customer called, all is well"')
    text = " ".join(" ".join(given.what[1:]).split())
    if not text:
        raise UsageError("The note is empty.")
    made = log.append_at_end(given.what[0].upper(), Noted(text).draft(places.now(), who_of(given)))
    print(f"Noted as event {made.number} of case {made.case}.")
    return exit_codes.DONE


def export(given: argparse.Namespace, log: SqlCaseLog) -> int:
    """Cases as JSON lines to a new private file, or to standard output with `-`."""
    if not given.what:
        raise UsageError("To which file? Type: comeback cases export FILE (- for standard output)")
    place, names = given.what[0], [name.upper() for name in given.what[1:]]
    lines = export_lines(log, names, given.shop or "", given.without_names)
    if place == "-":
        for line in lines:
            print(line)
        return exit_codes.DONE
    written = counted(write_new(Path(place), lines) - 1, "case")  # the first line is no case
    holds = "Names, cars and words are left out." if given.without_names else NAMES_PEOPLE
    tell(f"{written} written to {place} (only you can read it). {holds}")
    return exit_codes.DONE


def take_in(given: argparse.Namespace, log: SqlCaseLog) -> int:
    """Cases of another log; exit code 5 if any was refused."""
    if len(given.what) != 1:
        raise UsageError("From which file? Type: comeback cases import FILE (- for standard input)")
    place = given.what[0]
    with _reading(place) as lines:
        done = import_lines(log, lines, place, secrets.choice, given.shop or "")
    tell(*done.refused, stream=sys.stderr)
    print(f"{len(done.new)} new, {len(done.grown)} grown, {done.known} already known, {len(done.refused)} refused.")
    for case in done.grown:  # and by whom, if the file is to be believed
        names = f"according to the file, by {first_of(case.names, MOST_NAMES, ', ')}"
        grew = counted(case.entries, "entry", "entries")
        tell(f"Case {case.case} grew by {grew}; {names}. See: comeback cases show {case.case}")
    if done.new or done.grown:
        print("The hashes show that the file is undamaged, not who wrote it.")
    return exit_codes.FILES if done.refused else exit_codes.DONE


@contextmanager
def _reading(place: str) -> Iterator[Iterator[str]]:
    """Lines of a UTF-8 file or of standard input, none longer than LONGEST_LINE signs kept whole."""
    if "\0" in place:
        raise OSError(f"{place!r}: this is not a file name.")
    with nullcontext(sys.stdin) if place == "-" else open(place, encoding="utf-8", errors="surrogateescape") as stream:
        yield iter(lambda: stream.readline(LONGEST_LINE), "")


def delete(given: argparse.Namespace, log: SqlCaseLog) -> int:
    """Delete cases for good; without --yes only say which."""
    if bool(given.what) == (given.older_than is not None):
        raise UsageError("Which cases? Name them, or give --older-than DAYS: comeback cases delete K7RT --reason TEXT")
    names = [name.upper() for name in given.what]
    reason = given.reason or ""
    if given.older_than is not None:
        if not 0 < given.older_than <= 36_500:
            raise UsageError("--older-than takes a number of days, 1 or more.")
        day = (date.today() - timedelta(days=given.older_than)).isoformat()
        names = sorted(line.id for line in log.cases() if line.last.at[:10] < day)
        reason = reason or f"not touched for {given.older_than} days"
    if not reason:
        raise UsageError('Say why, it stays in the log: --reason "customer asked for it"')
    with log.reading() as connection:
        for name in names:
            log.as_they_are(connection, name)
    if not given.yes:
        print(f"To be deleted for good ({len(names)}): {' '.join(names) or 'none'}")
        print("Nothing was deleted. To do it, add --yes.")
        return exit_codes.DONE
    for name in names:
        count = delete_case(log, name, places.now(), who_of(given), reason, given.forget_learned)
        print(f"Case {name} deleted with its {counted(count, 'event')}; the log keeps its id and the reason.")
    print(left_after_deleting(log) if names else "No case is that old.")
    return exit_codes.DONE


def left_after_deleting(log: SqlCaseLog) -> str:
    """What deleting does not reach."""
    if wiped(log):
        return "Earlier exports and backups still have it."
    if log.engine.dialect.name == "sqlite":
        return (
            "Another program is reading the log: the deleted words stay in its file until that one ends. "
            "Earlier exports and backups still have them."
        )
    return (
        "The database keeps the deleted rows until its vacuum, and longer in its write-ahead log, replicas and "
        "backups: ask who runs it. Earlier exports still have them."
    )


def back_up(given: argparse.Namespace, log: SqlCaseLog) -> int:
    """A whole copy of the log file."""
    if len(given.what) != 1:
        raise UsageError("To which file? Type: comeback cases backup FILE")
    backup(log, Path(given.what[0]))
    tell(f"Copied to {given.what[0]} (only you can read it). Use it with --log {given.what[0]}")
    return exit_codes.DONE


def _none(given: argparse.Namespace, action: str) -> None:
    if given.what:
        raise UsageError(f"`comeback cases {action}` takes no case: it checks the whole log.")


ACTIONS: dict[str, Callable[[argparse.Namespace, SqlCaseLog], int]] = {
    "verify": verify_log,
    "recount": recounted,
    "note": note,
    "export": export,
    "import": take_in,
    "delete": delete,
    "backup": back_up,
}


def seen(place: str, first: str) -> str:
    """The head that was printed last for the log at this place whose journal begins with the hash `first`.

    Empty if there was none. The place alone would take a log begun anew for the old one; the hash alone
    one that began with the same imported case.
    """
    return _read().get(_key(place, first), "")


def remember(place: str, first: str, head: str) -> bool:
    """Keep the head for the next time, readable by the owner only; False if it cannot be written."""
    key, folder, heads = _key(place, first), places.folder("data"), _read()
    heads.pop(key, None)
    heads[key] = head
    if folder is None:
        return False
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_new(folder / HEADS_FILE, [json.dumps(dict(list(heads.items())[-MOST_HEADS:]), indent=0)], force=True)
        return True
    except OSError:
        return False


def _key(place: str, first: str) -> str:
    """A log by its place and the hash of its first entry."""
    return f"{place if is_database(place) else os.path.abspath(place)} {first[:16]}"


def _read() -> dict[str, str]:
    folder = places.folder("data")
    try:
        data: Any = json.loads((folder / HEADS_FILE).read_text(encoding="utf-8")) if folder else {}
    except (OSError, ValueError, RecursionError):
        return {}
    return {key: head for key, head in data.items() if isinstance(head, str)} if isinstance(data, dict) else {}
