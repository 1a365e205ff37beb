"""Revise numbers from closed cases, and compare what was predicted with what was found.

Only proven cases count. Nothing changes by itself: -o FILE makes a file of
revised numbers with the evidence for each, to be reviewed and then used with
--overlay FILE. Without --done the number of services is worked out so that all
comebacks together stay as frequent as judged. What passes by itself, or is watched, brings
no car in and is never lowered. Exit code 5 if a file is there already.
"""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from comeback.engine.safe_text import as_json

if TYPE_CHECKING:
    from comeback.engine.case_log.store import SqlCaseLog
    from comeback.engine.learning.calibration import Calibration
    from comeback.engine.learning.evidence import Lessons, Weights
    from comeback.kb.schema import KnowledgeBase

MOST_REPLAYED = 300


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback learn`."""
    from comeback.cli import options

    parser.add_argument("-o", "--output", metavar="FILE", help="write the revised numbers to this new file, for review")
    parser.add_argument("--plot", metavar="FILE", help="chart of predicted vs. found, to this new SVG file")
    parser.add_argument("--shop", metavar="NAME", help="numbers for this shop; all others are its starting point")
    parser.add_argument(
        "--done", metavar="SERVICE=N", action="append", default=[], help="services done (SHOP/SERVICE=N), repeatable"
    )
    parser.add_argument(
        "--services-weight",
        metavar="N",
        type=float,
        default=1000.0,
        help="weight of a judged frequency, in services (1000)",
    )
    parser.add_argument(
        "--cars-weight", metavar="N", type=float, default=20.0, help="weight of a judged chance, in cars seen (20)"
    )
    parser.add_argument("--at-least", metavar="N", type=int, default=5, help="fewest cases that revise a number (5)")
    parser.add_argument(
        "--sure", metavar="PERCENT", type=float, default=95.0, help="certainty needed to revise a number, percent (95)"
    )
    parser.add_argument("--json", action="store_true", help="print everything as JSON")
    options.add_knowledge(parser)
    options.add_log(parser)


def run(given: argparse.Namespace) -> int:
    """Count, revise, compare, and write what was asked for."""
    from contextlib import closing

    from comeback.cli import exit_codes, places
    from comeback.cli.options import knowledge_of
    from comeback.cli.reports.learned import plain_lessons
    from comeback.engine.case_log.store import open_log
    from comeback.engine.learning.counts import cause_counts, finding_counts
    from comeback.engine.learning.numbers import learn

    weights = _weights(given)
    knowledge = knowledge_of(given)
    with closing(open_log(places.log_place(given.log))) as log:
        causes = list(cause_counts(log))
        shops = {row[0] for row in causes}
        _check_shop(given.shop, shops)
        done = _done(given.done, shops, knowledge)
        lessons = learn(knowledge, causes, finding_counts(log), done, weights, given.shop)
        calibration, replayed = _calibration(log, knowledge)
    if given.json:
        print(as_json(plain_lessons(lessons, calibration), indent=1))
    else:
        _print(lessons, weights, calibration, replayed, given)
    if given.plot:
        _plot(given.plot, calibration, quiet=given.json)
    if given.output:
        _write(given, lessons, weights, knowledge)
    return exit_codes.DONE


def _weights(given: argparse.Namespace) -> "Weights":
    from comeback.cli.errors import UsageError
    from comeback.engine.learning.evidence import Weights

    for name, value in (("--services-weight", given.services_weight), ("--cars-weight", given.cars_weight)):
        if not 0 < value <= 1e9:
            raise UsageError(f"{name} {value:g}: the judgment needs some weight. Give a number above 0.")
    if not 1 <= given.at_least <= 1_000_000:
        raise UsageError(f"--at-least {given.at_least}: give a number of cases, 1 or more.")
    if not 0 <= given.sure < 100:
        raise UsageError(f"--sure {given.sure:g}: give a percentage from 0 (all that moves) to below 100.")
    return Weights(given.services_weight, given.cars_weight, given.at_least, sure=given.sure / 100)


def _check_shop(shop: str | None, shops: set[str]) -> None:
    from comeback.cli.errors import UsageError
    from comeback.kb.wording import suggest

    if shop is not None and shop not in shops:
        raise UsageError(f"No closed case is from shop '{shop}'.{suggest(shop, shops)}")


def _done(texts: list[str], shops: set[str], knowledge: "KnowledgeBase") -> dict[tuple[str, str], float]:
    from comeback.cli.errors import UsageError
    from comeback.kb.wording import suggest

    out = {}
    for text in texts:
        name, _, number = text.rpartition("=")
        shop, slash, service = name.rpartition("/")
        if service not in knowledge.services:
            raise UsageError(f"--done {text}: there is no service '{service}'.{suggest(service, knowledge.services)}")
        if not (number.isascii() and number.isdecimal() and len(number) < 10 and int(number) > 0):
            raise UsageError(
                f"--done {text}: '{number}' is not a number of services. Write --done {name or 'SERVICE'}=500"
            )
        if not slash and len(shops) > 1:
            raise UsageError(f"--done {text}: for which shop? Write --done SHOP/{text}, one for each of the shops.")
        out[shop if slash else next(iter(shops), ""), service] = float(number)
    return out


def _calibration(log: "SqlCaseLog", knowledge: "KnowledgeBase") -> "tuple[Calibration, int]":
    """Recorded predictions; cases closed without one are replayed, the latest few hundred."""
    from comeback.engine.case_log.outcomes import outcome_of, predicted_causes
    from comeback.engine.learning.calibration import calibrated
    from comeback.engine.learning.counts import calibration_bins, unpredicted

    single = []
    names = unpredicted(log, MOST_REPLAYED)
    replayed = 0
    for name in names:
        events = log.events(name)
        outcome, predicted = outcome_of(events), predicted_causes(knowledge, events)
        if outcome is not None and predicted:
            replayed += 1
            single += [(chance, cause in outcome.causes) for cause, chance in predicted.items()]
    return calibrated(calibration_bins(log), single), replayed


def _print(
    lessons: "Lessons", weights: "Weights", calibration: "Calibration", replayed: int, given: argparse.Namespace
) -> None:
    from comeback.cli.look import look_of, show
    from comeback.cli.reports.learned import calibration_lines, lesson_lines

    look = look_of(sys.stdout)
    if not lessons.shops:
        show([("plain", "No closed and proven case in the log yet; there is nothing to learn from.")], look)
        return
    show([*lesson_lines(lessons, weights, given.shop, look), ("plain", "")], look)
    show(calibration_lines(calibration, replayed, look), look)
    if lessons.revised and not given.output:
        show([("plain", ""), ("plain", "Nothing was changed. For a file to review: comeback learn -o FILE")], look)


def _plot(place: str, calibration: "Calibration", quiet: bool) -> None:
    from comeback.cli.private_files import write_new
    from comeback.diagrams.plots.calibration import calibration_picture

    write_new(place, calibration_picture(calibration, "Causes: predicted vs. found").splitlines())
    if not quiet:
        print(f"written {place}")


def _write(given: argparse.Namespace, lessons: "Lessons", weights: "Weights", knowledge: "KnowledgeBase") -> None:
    """Write the overlay and read it back beside the knowledge, so that it is known to fit."""
    from comeback.cli import places
    from comeback.cli.options import overlays_of
    from comeback.cli.private_files import write_new
    from comeback.cli.reports.learned import overlay_text
    from comeback.kb.loader import load_knowledge
    from comeback.kb.problems import KnowledgeError

    said = sys.stderr if given.json else sys.stdout
    if not lessons.revised:
        print(f"No number changes, so {given.output} was not written.", file=said)
        return
    write_new(given.output, overlay_text(lessons, weights, knowledge, places.now()[:10], given.shop))
    folders = [Path(folder) for folder in given.knowledge or ()]
    overlays = overlays_of(given, bool(folders))
    written = Path(given.output)
    inside = any(folder.is_dir() and folder.resolve() in written.resolve().parents for folder in overlays)
    try:
        load_knowledge(*folders, overlays=overlays if inside else [*overlays, written])
    except KnowledgeError:
        Path(given.output).unlink(missing_ok=True)
        raise
    moved = len(lessons.revised)
    print(f"written {given.output}: {moved} number{'' if moved == 1 else 's'}. Review it, line by line.", file=said)
    print(f"comeback check --overlay {given.output} looks for mistakes; --overlay {given.output} uses it.", file=said)
