"""List the cases in the log, show one, or look after the log.

comeback cases                         all cases, the latest first
comeback cases list ABC 1234           those with this license plate, car, complaint, name or state
comeback cases show K7RT               one case: findings, repairs, notes, ending
comeback cases note K7RT TEXT          add a note, also to a closed case
comeback cases verify                  is everything as it was written?
comeback cases recount                 recount what `comeback learn` reads
comeback cases export FILE [CASE ...]  cases as lines of JSON (- for standard output)
comeback cases import FILE             add them here; nothing is added twice
comeback cases delete CASE ...         for good; that it was here, and why it went, stays
comeback cases backup FILE             a whole copy of the log

Keep the head that verify prints somewhere else, on paper: anyone who can rewrite the
log and heads.json can rewrite history.
A file of cases is not signed: its hashes show that it is undamaged, not who wrote it.
export --without-names leaves out staff, car, license plate, callback number, place,
words, notes, readings and the time of day. Shop, day, service, complaint, answers,
advice, repairs and causes stay: enough for `comeback learn` in another shop.
delete does not reach earlier exports and backups. A PostgreSQL database also keeps
deleted rows until its vacuum, and longer in its write-ahead log and replicas.
"""

import argparse
import sys
from contextlib import closing

from comeback.cli import exit_codes, options, places
from comeback.cli.errors import UsageError
from comeback.cli.look import look_of, show, tell
from comeback.cli.records.case_list import found_by, list_lines, rows_of
from comeback.cli.records.finding import case_id
from comeback.cli.records.formats import rendered, text_lines
from comeback.cli.records.record import Record
from comeback.cli.records.sections import BRIEF, sections
from comeback.cli.records.upkeep import ACTIONS
from comeback.engine.case_log.store import SqlCaseLog, open_log
from comeback.engine.safe_text import as_json, harmless


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback cases`."""
    actions = ("list", "show", *ACTIONS)
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
    options.add(parser, "--by", *options.KNOWLEDGE, "--log")


def run(given: argparse.Namespace) -> int:
    """List, show, or do what the action says."""
    with closing(open_log(places.log_place(given.log))) as log:
        if given.action in ACTIONS:
            return ACTIONS[given.action](given, log)
        show_cases = _show if given.action == "show" else _list
        show_cases(given, log)
        return exit_codes.DONE


def _show(given: argparse.Namespace, log: SqlCaseLog) -> None:
    knowledge = options.knowledge_of(given)
    if not given.what:
        raise UsageError("Which case? Type its id: comeback cases show K7RT. List them: comeback cases.")
    recorded = log.events(case_id(log, " ".join(given.what)))
    if given.json:
        sys.stdout.write(rendered(knowledge, recorded, "json"))
    else:
        look, record = look_of(sys.stdout), Record(knowledge, recorded)
        title = f"Case {record.case.id}   {record.status.upper()}"
        show(text_lines(title, sections(record, BRIEF), look), look)


def _list(given: argparse.Namespace, log: SqlCaseLog) -> None:
    rows = rows_of(options.knowledge_of(given), log)
    found = found_by(rows, harmless(" ".join(given.what)))
    if given.json:
        print(as_json(found, indent=1))
    elif not rows:
        tell(f"No cases yet in {log.name}. Start one: comeback call")
    elif not found:
        tell(f"None of {len(rows)} cases matches '{' '.join(given.what)}'. List them all: comeback cases")
    else:
        look = look_of(sys.stdout)
        show(list_lines(found, look), look)
