"""Practise finding the cause: a hidden one, a car that answers, a debrief at the end.

Danger signs come first, always. Then you choose checks and repairs in your own order,
by words. Modes: watch (a worked example: the program's path with every reason),
complete (it stops half-way and you go on), guided (with hints), free, phone (you take
the call; a trainer or the screen is the caller), exam (fixed cars, no hints, marks at
the end). One seed is one car, the same for a whole class. Every turn is kept in the
case log at once.

comeback drill --mode phone            take a call
comeback drill --mode phone --sheet    the caller's lines on paper, with the key
comeback drill --resume                go on with the one that you stopped last
comeback drill --resume K7RT           go on with this one
comeback drill --debrief K7RT          the debrief of a finished one again
comeback drill --results --by NAME     one learner over time; without --by: the class
                                       without names; both list the IDs for --debrief
comeback drill --due                   missed cars that come back
comeback drill --delete K7RT           for good, the trainee's name and answers with it;
                                       all of a person: --delete --of NAME
"""

import argparse
import secrets
import sys
from typing import TYPE_CHECKING

from comeback.engine.safe_text import as_json

if TYPE_CHECKING:
    from comeback.cli.drill.report import Report
    from comeback.cli.look import Look, Styled
    from comeback.cli.prompt.readers import Reader
    from comeback.engine.case_log.store import SqlCaseLog
    from comeback.kb.schema import KnowledgeBase

MOST_SEED = 10**9
MODES = ("watch", "complete", "guided", "free", "phone", "exam")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback drill`."""
    from comeback.cli import options

    parser.add_argument("--mode", choices=MODES, default="guided", help="(default: guided)")
    parser.add_argument("--seed", metavar="S", type=int, help="which car (default: any); exam: its first car (1000)")
    parser.add_argument("--cars", metavar="N", type=int, default=10, help="exam: how many cars (default: 10)")
    parser.add_argument("--service", metavar="ID", help="only after this service")
    parser.add_argument("--complaint", metavar="ID", help="only with this complaint")
    instead = parser.add_mutually_exclusive_group()
    instead.add_argument("--sheet", action="store_true", help="print the trainer's sheet with the key instead")
    instead.add_argument("--resume", metavar="ID", nargs="?", const="", help="go on (default: the last one stopped)")
    instead.add_argument("--debrief", metavar="ID", help="show the debrief of a finished drill again")
    instead.add_argument("--results", action="store_true", help="results over time, of one learner or the class")
    instead.add_argument("--due", action="store_true", help="missed cars that are due again")
    instead.add_argument("--delete", metavar="ID", nargs="?", const="", help="delete a drill, or with --of several")
    parser.add_argument("--of", metavar="NAME", help="--delete: all drills of this person")
    parser.add_argument("--yes", action="store_true", help="--delete: do it; without, only say what would go")
    parser.add_argument("--answers", metavar="FILE", help="lines as they would be typed (- for standard input)")
    parser.add_argument("--by", metavar="NAME", help="who does it (default: COMEBACK_BY, else the login name)")
    parser.add_argument("--json", action="store_true", help="print the result as JSON at the end, and nothing else")
    parser.add_argument("--csv", action="store_true", help="--results: one drill a line")
    parser.add_argument("--plain", action="store_true", help="no emphasis, only lines one after the other")
    options.add_knowledge(parser)
    options.add_log(parser)


def run(given: argparse.Namespace) -> int:
    """Print a sheet or results, or drill."""
    from contextlib import closing

    from comeback.cli import exit_codes, places
    from comeback.cli.look import look_of, show
    from comeback.cli.options import knowledge_of

    _check(given)
    if given.delete is not None:
        return _delete(given)
    knowledge, look = knowledge_of(given), look_of(sys.stdout, given.plain)
    _take_names(given, knowledge)
    if given.sheet:
        from comeback.cli.drill.sheet import sheet

        show(sheet(knowledge, given.mode, _seed(given), given.service, given.complaint, look), look)
        return exit_codes.DONE
    from comeback.engine.case_log.store import open_log

    with closing(open_log(places.log_place(given.log))) as log:
        if given.results or given.due:
            return _report(given, knowledge, log, look)
        return _sit(given, knowledge, log, look)


def _check(given: argparse.Namespace) -> None:
    """Raises UsageError for numbers that are not possible, and options that do not go together."""
    from comeback.cli.drill.exam import MOST_CARS
    from comeback.cli.errors import UsageError

    if given.seed is not None and not 0 <= given.seed <= MOST_SEED:
        raise UsageError(f"--seed {given.seed} is no seed. Give 0 to {MOST_SEED}.")
    if not 1 <= given.cars <= MOST_CARS:
        raise UsageError(f"--cars {given.cars} is not possible. Give 1 to {MOST_CARS}.")
    if given.csv and not given.results:
        raise UsageError("--csv goes with --results.")
    if given.delete is None and (given.of is not None or given.yes):
        raise UsageError("--of and --yes go with --delete.")
    if given.delete is not None and bool(given.delete) == (given.of is not None):
        raise UsageError("Which drills? comeback drill --delete K7RT, or all of a person: --delete --of NAME")


def _take_names(given: argparse.Namespace, knowledge: "KnowledgeBase") -> None:
    """Words for a service or complaint become its id."""
    from comeback.cli.words.entries import complaint_named, service_named

    if given.service is not None:
        given.service = service_named(knowledge, given.service)
    if given.complaint is not None:
        given.complaint = complaint_named(knowledge, given.complaint)


def _seed(given: argparse.Namespace) -> int:
    from comeback.cli.drill.exam import FIRST_SEED

    if given.seed is not None:
        return int(given.seed)
    return FIRST_SEED if given.mode == "exam" else secrets.randbelow(10_000)


def _who(given: argparse.Namespace) -> str:
    import os

    from comeback.cli import places
    from comeback.cli.config import read_config

    return places.who(given.by or os.environ.get("COMEBACK_BY") or read_config().by or None)


def _reader(given: argparse.Namespace) -> "Reader":
    from comeback.cli.drill.search import LinesReader
    from comeback.cli.prompt.readers import choose_reader

    return LinesReader(given.answers) if given.answers is not None else choose_reader(None, plain=given.plain)


def _delete(given: argparse.Namespace) -> int:
    from contextlib import closing

    from comeback.cli import places
    from comeback.cli.drill.deleting import delete
    from comeback.engine.case_log.store import open_log

    with closing(open_log(places.log_place(given.log))) as log:
        return delete(given, log, _who(given))


def _sit(given: argparse.Namespace, knowledge: "KnowledgeBase", log: "SqlCaseLog", look: "Look") -> int:
    """Begin a drill, go on with one, or show a debrief again."""
    from comeback.cli import signals
    from comeback.cli.drill import exam as drill_exam
    from comeback.cli.drill.sitting import Sitting
    from comeback.cli.drill.stopped import last_stopped
    from comeback.engine.drill.drill import Mode

    by, reader = _who(given), _reader(given)
    if reader.interactive:
        signals.leave_in_order()
    sitting = Sitting(knowledge, log, reader, look, by, given.json)
    if given.debrief is not None:
        return sitting.debrief(given.debrief.upper())
    if given.resume is not None:
        return sitting.go_on(given.resume.upper() or last_stopped(log, by))
    mode, seed = Mode(given.mode), _seed(given)
    exam = drill_exam.beginning(seed, given.cars) if mode is Mode.EXAM else None
    return sitting.begin(mode, seed, given.service, given.complaint, exam)


def _report(given: argparse.Namespace, knowledge: "KnowledgeBase", log: "SqlCaseLog", look: "Look") -> int:
    """Results or what is due, in the form asked for."""

    from comeback.cli import exit_codes
    from comeback.cli.drill import report as text
    from comeback.cli.look import show

    report = _read(given, knowledge, log)
    if given.json:
        data = text.due_data(report) if given.due else text.as_data(report)
        print(as_json(data, indent=1))
    elif given.csv:
        print(text.as_csv(report), end="")
    elif given.due:
        show(text.due_lines(report, knowledge, look), look)
    elif not report.results:
        print(f"No finished drill in {log.name}. Begin one: comeback drill")
    elif given.by:
        _in_turn(text.learner_screens(report, given.by, knowledge, look), look)
    else:
        _in_turn(text.class_screens(report, knowledge, look), look)
    return exit_codes.DONE


def _in_turn(screens: "list[list[Styled]]", look: "Look") -> None:
    """Screen after screen; at a terminal each waits until the one before was read."""
    from comeback.cli.look import show

    waits = sys.stdin.isatty() and sys.stdout.isatty()
    for number, screen in enumerate(screens):
        if number and waits:
            print("Enter to go on", flush=True)
            sys.stdin.readline()
        show(screen, look)


def _read(given: argparse.Namespace, knowledge: "KnowledgeBase", log: "SqlCaseLog") -> "Report":
    """The results that are asked for: of one person if named, or for what is due; else of all, without names."""
    from comeback.cli import places
    from comeback.cli.drill import kept as drill_kept
    from comeback.cli.drill.report import Report
    from comeback.engine.case_log.drills import drill_lines
    from comeback.engine.case_log.upkeep import first_line

    by = given.by or (_who(given) if given.due else None)
    lines = drill_lines(log, by)
    found, bad = drill_kept.read(lines)
    stopped = tuple(line.id for line in lines if not line.finished)
    today = drill_kept.day_of(places.now())
    return Report(found, stopped, bad, today, knowledge.version, first_line(log), named=by is not None)
