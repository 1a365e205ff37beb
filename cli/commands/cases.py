"""List the cases in the log, show one, or look after the log.

comeback cases                         all cases, the latest first
comeback cases list AB12 CDE           those with this registration, car, complaint, name or state
comeback cases show K7RT               one case: findings, repairs, notes, ending
comeback cases note K7RT TEXT          add a note, also to a closed case
comeback cases verify                  is everything as it was written?
comeback cases recount                 count anew what `comeback learn` reads
comeback cases export FILE [CASE ...]  cases as lines of JSON (- for standard output)
comeback cases import FILE             take them in; nothing comes in twice
comeback cases delete CASE ...         for good; that it was here and why it went stays
comeback cases backup FILE             a whole copy of the log

Keep the head that verify prints elsewhere, on paper: whoever can rewrite the log and
heads.json can rewrite history.
A file of cases is not signed: its hashes show that it is undamaged, not who wrote it.
export --without-names leaves out staff, car, registration, call-back number, place,
words, notes, readings and the time of day. Shop, day, service, complaint, answers,
advice, repairs and causes stay: enough for `comeback learn` in another shop.
delete does not reach earlier exports and backups. A PostgreSQL database also keeps
deleted rows until its vacuum, and longer in its write-ahead log and replicas.
"""

import argparse
import sys

from comeback.engine.safe_text import as_json, harmless


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback cases`."""
    from comeback.cli import options

    actions = ("list", "show", "note", "verify", "recount", "export", "import", "delete", "backup")
    parser.add_argument("action", nargs="?", choices=actions, default="list", help="what to do (default: list)")
    parser.add_argument("what", nargs="*", metavar="WHAT", help="case ids, text or a file, as above")
    parser.add_argument("--json", action="store_true", help="list and show: print as JSON")
    parser.add_argument("--head", metavar="HEAD", help="verify: the head that an earlier run printed")
    parser.add_argument("--restored", action="store_true", help="verify: an older copy was restored on purpose")
    parser.add_argument("--shop", metavar="NAME", help="export, import: shop for cases that don't name one")
    parser.add_argument("--without-names", action="store_true", help="export: leave out what names a person, as above")
    parser.add_argument("--older-than", metavar="DAYS", type=int, help="delete: all cases untouched for this many days")
    parser.add_argument("--reason", metavar="TEXT", help="delete: the reason; it stays in the log")
    parser.add_argument("--forget-learned", action="store_true", help="delete: also what was learned from the case")
    parser.add_argument("--yes", action="store_true", help="delete: do it; without --yes, only list them")
    parser.add_argument("--by", metavar="NAME", help="who is doing it (default: COMEBACK_BY, else the login name)")
    options.add_knowledge(parser)
    options.add_log(parser)


def run(given: argparse.Namespace) -> int:
    """List, show, or hand on to what looks after the log."""
    from contextlib import closing

    from comeback.cli import places
    from comeback.cli.errors import UsageError
    from comeback.cli.options import knowledge_of
    from comeback.cli.records.finding import case_id
    from comeback.engine.case_log.store import open_log

    with closing(open_log(places.log_place(given.log))) as log:
        if given.action not in ("list", "show"):
            from comeback.cli.records.upkeep import ACTIONS

            return ACTIONS[given.action](given, log)
        knowledge = knowledge_of(given)
        if given.action == "show":
            if not given.what:
                raise UsageError("Which case? Type its id: comeback cases show K7RT. List them: comeback cases.")
            return _show(given, knowledge, log.events(case_id(log, " ".join(given.what))))
        return _list(given, knowledge, log)


def _show(given: argparse.Namespace, knowledge, events) -> int:  # type: ignore[no-untyped-def]
    from comeback.cli.look import look_of, show
    from comeback.cli.records.data import record_data
    from comeback.cli.records.formats import text_lines
    from comeback.cli.records.record import record_of
    from comeback.cli.records.sections import brief

    record = record_of(knowledge, events)
    if given.json:
        print(as_json(record_data(record), indent=1))
    else:
        look = look_of(sys.stdout)
        show(text_lines(f"Case {record.case.id}   {record.status.upper()}", brief(record), look), look)
    return 0


def _list(given: argparse.Namespace, knowledge, log) -> int:  # type: ignore[no-untyped-def]
    from comeback.cli.look import look_of, show, tell
    from comeback.cli.records.case_list import found_by, list_lines, rows_of

    rows = rows_of(knowledge, log)
    found = found_by(rows, harmless(" ".join(given.what)))
    look = look_of(sys.stdout)
    if given.json:
        print(as_json(found, indent=1))
    elif not rows:
        tell(f"No cases yet in {log.name}. Start one: comeback call")
    elif not found:
        tell(f"None of {len(rows)} cases matches '{' '.join(given.what)}'. List them all: comeback cases")
    else:
        show(list_lines(found, look), look)
    return 0
