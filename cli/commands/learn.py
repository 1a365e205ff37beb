"""Revise numbers from closed cases, and compare what was predicted with what was found.

Only proven cases count. Nothing changes by itself: -o FILE writes the revised numbers,
each with its evidence, for a person to review and then use with --overlay FILE.
If you don't say how many services were done, the number is estimated so that all
comebacks together stay as frequent as judged. A cause that goes away by itself, or that
the driver is told to watch, brings no car in, so its number is never lowered.
"""

import argparse
import sys
from contextlib import closing
from pathlib import Path

from comeback.cli import exit_codes, options, places
from comeback.cli.errors import UsageError
from comeback.cli.files import write_new
from comeback.cli.look import look_of, show
from comeback.cli.numbers import counted
from comeback.cli.reports.learned import calibration_lines, lesson_lines, overlay_text
from comeback.engine.case_log.outcomes import outcome_of, predicted_causes
from comeback.engine.case_log.store import SqlCaseLog, open_log
from comeback.engine.learning.calibration import Bin, calibrated
from comeback.engine.learning.counts import cause_counts, finding_counts, latest_proven
from comeback.engine.learning.evidence import Lessons
from comeback.engine.learning.numbers import learn
from comeback.kb.loader import load_knowledge
from comeback.kb.problems import KnowledgeError
from comeback.kb.schema import KnowledgeBase
from comeback.kb.wording import suggest

MOST_REPLAYED = 300


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback learn`."""
    parser.add_argument("-o", "--output", metavar="FILE", help="write the revised numbers to this new file, for review")
    parser.add_argument("--shop", metavar="NAME", help="numbers for this shop, with the others as its starting point")
    parser.add_argument(
        "--services-done",
        metavar="SERVICE=N",
        action="append",
        default=[],
        help="how many were done (several shops: SHOP/SERVICE=N); repeat for each service",
    )
    options.add(parser, *options.KNOWLEDGE, "--log")


def run(given: argparse.Namespace) -> int:
    """Count, revise, compare, and write what was asked for."""
    knowledge = options.knowledge_of(given)
    with closing(open_log(places.log_place(given.log))) as log:
        causes = list(cause_counts(log))
        shops = {row[0] for row in causes}
        if given.shop is not None and given.shop not in shops:
            raise UsageError(f"No closed case is from shop '{given.shop}'.{suggest(given.shop, shops)}")
        done = _services_done(given.services_done, shops, knowledge)
        lessons = learn(knowledge, causes, finding_counts(log), done, shop=given.shop)
        calibration, replayed = _calibration(log, knowledge)
    look = look_of(sys.stdout)
    if not lessons.shops:
        show([("plain", "No closed and proven case in the log yet; there is nothing to learn from.")], look)
    else:
        show([*lesson_lines(lessons, given.shop, look), ("plain", "")], look)
        show(calibration_lines(calibration, replayed, look), look)
        if lessons.revised and not given.output:
            show([("plain", ""), ("plain", "Nothing was changed. For a file to review: comeback learn -o FILE")], look)
    if given.output:
        _write(given, lessons, knowledge)
    return exit_codes.DONE


def _services_done(texts: list[str], shops: set[str], knowledge: KnowledgeBase) -> dict[tuple[str, str], float]:
    """(shop, service) -> services done. Raises UsageError."""
    out = {}
    for text in texts:
        option = f"--services-done {text}"
        name, _, number = text.rpartition("=")
        shop, slash, service = name.rpartition("/")
        if service not in knowledge.services:
            raise UsageError(f"{option}: there is no service '{service}'.{suggest(service, knowledge.services)}")
        if not (number.isascii() and number.isdecimal() and len(number) < 10 and int(number) > 0):
            raise UsageError(
                f"{option}: '{number}' is not a number of services. Write --services-done {name or 'SERVICE'}=500"
            )
        if not slash and len(shops) > 1:
            raise UsageError(f"{option}: for which shop? Write SHOP/{text}, one for each of the shops.")
        out[shop if slash else next(iter(shops), ""), service] = float(number)
    return out


def _calibration(log: SqlCaseLog, knowledge: KnowledgeBase) -> tuple[list[Bin], int]:
    """Predictions for the latest few hundred proven cases, from what was known before their first repair."""
    made, replayed = [], 0
    for name in latest_proven(log, MOST_REPLAYED):
        events = log.events(name)
        outcome, predicted = outcome_of(events), predicted_causes(knowledge, events)
        if outcome is not None and predicted:
            replayed += 1
            made += [(chance, cause in outcome.causes) for cause, chance in predicted.items()]
    return calibrated(made), replayed


def _write(given: argparse.Namespace, lessons: Lessons, knowledge: KnowledgeBase) -> None:
    """Write the overlay and read it back beside the knowledge, so that it is known to fit."""
    if not lessons.revised:
        print(f"No number changes, so {given.output} was not written.")
        return
    written = Path(given.output)
    write_new(written, overlay_text(lessons, knowledge, places.now()[:10], given.shop))
    folders, overlays = options.folders_of(given)
    inside = any(folder.is_dir() and folder.resolve() in written.resolve().parents for folder in overlays)
    try:
        load_knowledge(*folders, overlays=overlays if inside else [*overlays, written])
    except KnowledgeError:
        written.unlink(missing_ok=True)
        raise
    print(f"written {given.output}: {counted(len(lessons.revised), 'number')}. Review it, line by line.")
    print(f"comeback check --overlay {given.output} looks for mistakes; --overlay {given.output} uses it.")
