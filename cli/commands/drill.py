"""Practice finding the cause: a hidden one, a car that answers, a debrief at the end.

Danger signs come first, always. Then you choose checks and repairs in your own order,
by words. Modes: watch (a worked example: the program's path with every reason), guided
(with hints), phone (you take the call; the screen is the caller), exam (fixed cars,
no hints, marks at the end). One seed is one car, the same for a whole
class. Every turn is kept in the case log at once.

comeback drill --mode phone            take a call
comeback drill --resume                continue the one that you stopped last
comeback drill --debrief K7RT          the debrief of a finished one again
comeback drill --results --by NAME     one learner over time; without --by: the class
comeback drill --delete K7RT           for good, the learner's name and answers with it;
                                       all of a person: --delete --of NAME
"""

import argparse
import secrets
import sys
from contextlib import closing

from comeback.cli import exit_codes, options, places, signals
from comeback.cli.drill import results
from comeback.cli.drill.sitting import Sitting, last_stopped
from comeback.cli.errors import UsageError
from comeback.cli.look import Look, look_of, show, tell
from comeback.cli.numbers import counted
from comeback.cli.readers import choose_reader
from comeback.cli.records.upkeep import left_after_deleting
from comeback.cli.words.search_services import take_names
from comeback.engine.case_log.drills import drill_lines, no_such_drill
from comeback.engine.case_log.store import SqlCaseLog, open_log
from comeback.engine.case_log.upkeep import delete_drill
from comeback.engine.drill.drill import Mode
from comeback.kb.schema import KnowledgeBase
from comeback.kb.wording import suggest

MOST_SEED, MOST_CARS = 10**9, 30
FIRST_SEED = 1000
"""The exam that everybody gets who names no other: cars 1000, 1001 ..."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback drill`."""
    parser.add_argument("--mode", choices=[mode.value for mode in Mode], default="guided", help="(default: guided)")
    parser.add_argument("--seed", metavar="S", type=int, help="which car (default: any); exam: its first car (1000)")
    parser.add_argument("--cars", metavar="N", type=int, default=10, help="exam: how many cars (default: 10)")
    parser.add_argument("--service", metavar="ID", help="only after this service")
    parser.add_argument("--complaint", metavar="ID", help="only with this complaint")
    instead = parser.add_mutually_exclusive_group()
    instead.add_argument(
        "--resume", metavar="ID", nargs="?", const="", help="continue a drill (default: the last one stopped)"
    )
    instead.add_argument("--debrief", metavar="ID", help="show the debrief of a finished drill again")
    instead.add_argument("--results", action="store_true", help="results over time, for one learner or the class")
    instead.add_argument("--delete", metavar="ID", nargs="?", const="", help="delete a drill, or with --of several")
    parser.add_argument("--of", metavar="NAME", help="--delete: all drills of this person")
    parser.add_argument("--yes", action="store_true", help="--delete: do it; without --yes, only list them")
    options.add(parser, "--by", "--plain", *options.KNOWLEDGE, "--log")


def run(given: argparse.Namespace) -> int:
    """Print results, delete, or drill."""
    _check(given)
    look, place = look_of(sys.stdout, given.plain), places.log_place(given.log)
    if given.delete is not None:
        with closing(open_log(place)) as log:
            return _delete(given, log)
    knowledge = options.knowledge_of(given)
    take_names(given, knowledge)
    with closing(open_log(place)) as log:
        return _results(given, knowledge, log, look) if given.results else _sit(given, knowledge, log, look)


def _check(given: argparse.Namespace) -> None:
    """Raises UsageError for numbers that are not possible, and options that do not go together."""
    if given.seed is not None and not 0 <= given.seed <= MOST_SEED:
        raise UsageError(f"--seed {given.seed} is not a seed. Give 0 to {MOST_SEED}.")
    if not 1 <= given.cars <= MOST_CARS:
        raise UsageError(f"--cars {given.cars} is out of range. Give 1 to {MOST_CARS}.")
    if given.delete is None and (given.of is not None or given.yes):
        raise UsageError("--of and --yes go with --delete.")
    if given.delete is not None and bool(given.delete) == (given.of is not None):
        raise UsageError("Which drills? comeback drill --delete K7RT, or all of one person's: --delete --of NAME")


def _sit(given: argparse.Namespace, knowledge: KnowledgeBase, log: SqlCaseLog, look: Look) -> int:
    """Begin a drill, continue one, or show a debrief again."""
    by, reader = options.who_of(given), choose_reader(None, plain=given.plain)
    if reader.interactive:
        signals.leave_in_order()
    sitting = Sitting(knowledge, log, reader, look, by)
    if given.debrief is not None:
        return sitting.debrief(given.debrief.upper())
    if given.resume is not None:
        return sitting.go_on(given.resume.upper() or last_stopped(log, by))
    mode, seed = Mode(given.mode), given.seed
    if seed is None:
        seed = FIRST_SEED if mode is Mode.EXAM else secrets.randbelow(10_000)
    exam = {"id": None, "number": 1, "of": given.cars, "first": seed} if mode is Mode.EXAM else None
    return sitting.begin(mode, seed, given.service, given.complaint, exam)


def _results(given: argparse.Namespace, knowledge: KnowledgeBase, log: SqlCaseLog, look: Look) -> int:
    """One learner's results if `--by` names one, else a line for each learner."""
    report = results.report(log, given.by)
    if not report.results:
        print(f"No finished drills in {log.name}. Start one: comeback drill")
    else:
        make = results.learner_lines if given.by else results.class_lines
        show(make(report, knowledge, look), look)
    return exit_codes.DONE


def _delete(given: argparse.Namespace, log: SqlCaseLog) -> int:
    """Delete drills for good, one by its id or all of a person; without --yes only say which."""
    drill, name = given.delete.upper(), given.of
    lines = [line for line in drill_lines(log, None if drill else name) if not drill or line.id == drill]
    if not lines and drill:
        raise no_such_drill(log, drill)
    if not lines:
        names = {line.opened.by for line in drill_lines(log)}
        raise UsageError(f"There is no drill of '{name}' in {log.name}.{suggest(name, names)}")
    if not given.yes:
        print(f"To be deleted for good: {counted(len(lines), 'drill')}, with name and answers")
        for line in lines:
            mode = line.opened.payload.get("mode", "")
            tell(f"  {line.id}  {line.opened.at[:16].replace('T', ' ')}  {line.opened.by}  {mode}".rstrip())
        print("Nothing was deleted. To do it, add --yes.")
        return exit_codes.DONE
    for line in lines:
        count = delete_drill(log, line.id, places.now(), options.who_of(given))
        print(f"Drill {line.id} deleted with its {counted(count, 'event')}; the log keeps only its id.")
    print(left_after_deleting(log))
    return exit_codes.DONE
