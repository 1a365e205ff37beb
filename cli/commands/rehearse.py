"""Rehearse simulated comebacks, beside other ways to work on the same cars.

Each car is drawn from the knowledge, sometimes with several causes; the caller and
the technician sometimes answer wrongly or don't know. It is called in, then worked
on by the guided walk, by repairs in order of chance over price without checks, and
by a checklist that is always the same. The same seed gives the same report.
It measures the program against its own knowledge, not the knowledge against cars.
"""

import argparse
from dataclasses import asdict

from comeback.cli import exit_codes, options
from comeback.cli.errors import UsageError
from comeback.cli.parallel import available_cores
from comeback.cli.reports.rehearsing import CALLER_FACTOR, Wanted, rehearse, report
from comeback.cli.words.entries import take_names
from comeback.engine.rehearsal.figures import figures
from comeback.engine.rehearsal.rehearsal import without_openings


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback rehearse`."""
    parser.add_argument("--walks", metavar="N", type=int, default=100, help="comebacks to simulate (default: 100)")
    parser.add_argument("--seed", metavar="S", type=int, default=1, help="seed for cars and answers (default: 1)")
    parser.add_argument("--service", metavar="ID", help="only after this service (default: all, equally often)")
    parser.add_argument("--complaint", metavar="ID", help="only with this complaint")
    parser.add_argument("--wrong", metavar="PERCENT", type=float, default=3.0, help="wrong answers (default: 3)")
    parser.add_argument("--unknown", metavar="PERCENT", type=float, default=7.0, help="don't knows (default: 7)")
    parser.add_argument("--even", action="store_true",
        help="people err as often at what hits the eye as at what takes knowledge")  # fmt: skip
    parser.add_argument("--free", action="store_true", help="without the opening looks: what do they cost?")
    options.add_json(parser)
    options.add_knowledge(parser)


def run(given: argparse.Namespace) -> int:
    """Draw, walk and report."""
    if not 1 <= given.walks <= 1_000_000:
        raise UsageError(f"--walks {given.walks} is not a valid number of comebacks. Give 1 to 1000000.")
    if given.seed < 0:
        raise UsageError(f"--seed {given.seed} is negative. Give 0 or more.")
    if not (given.wrong >= 0 and given.unknown >= 0 and given.wrong + given.unknown <= 90):
        raise UsageError("--wrong and --unknown are percentages of the answers, together 90 at most.")
    knowledge = options.knowledge_of(given)
    take_names(given, knowledge)
    knowledge = without_openings(knowledge) if given.free else knowledge
    wanted = Wanted(
        given.walks, given.seed, given.service, given.complaint, given.wrong / 100, given.unknown / 100, given.even
    )  # fmt: skip
    found = figures(knowledge, rehearse(wanted, knowledge, available_cores()))
    if given.json:
        return options.print_json({"knowledge": knowledge.version, **asdict(found)})
    kinds = "everywhere" if given.even else "by kind of sign"
    answers = f"{given.wrong:g} % wrong, {given.unknown:g} % don't know {kinds}, callers x {CALLER_FACTOR:g}"
    after = [f"after {given.service}"] if given.service else []
    after += [f"with {given.complaint}"] if given.complaint else []
    after += ["without opening looks"] if given.free else []
    print("\n".join(report(found, ", ".join([f"seed {given.seed}", answers, *after]), knowledge)))
    return exit_codes.DONE
