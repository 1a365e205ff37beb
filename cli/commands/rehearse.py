"""Rehearse simulated comebacks, beside other ways to work on the same cars.

Each car is drawn from the knowledge, with several causes at times; the caller and
the technician answer wrongly or do not know at times. It is called in, then worked
on by the guided walk, by repairs in order of probability over cost without checks,
and by a check-list that is always the same. The same seed gives the same report.
It measures the program against its own knowledge, not the knowledge against cars.
"""

import argparse
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from comeback.engine.safe_text import as_json

if TYPE_CHECKING:
    from comeback.engine.rehearsal.figures import Figures
    from comeback.kb.schema import KnowledgeBase


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback rehearse`."""
    from comeback.cli import options

    parser.add_argument("--walks", metavar="N", type=int, default=100, help="comebacks to simulate (default: 100)")
    parser.add_argument(
        "--seed", metavar="S", type=int, default=1, help="random seed for cars and answers (default: 1)"
    )
    parser.add_argument("--service", metavar="ID", help="only after this service (default: all, equally often)")
    parser.add_argument("--complaint", metavar="ID", help="only with this complaint")
    parser.add_argument("--evenly", action="store_true", help="rare causes as often as common ones")
    parser.add_argument("--free", action="store_true", help="without opening looks, to see what they cost")
    parser.add_argument("--wrong", metavar="PERCENT", type=float, default=3.0, help="wrong answers (default: 3)")
    parser.add_argument("--unknown", metavar="PERCENT", type=float, default=7.0, help="don't knows (default: 7)")
    parser.add_argument("--jobs", metavar="J", type=int, default=None, help="processes (default: one per core)")
    parser.add_argument("--plot", metavar="FILE", help="write a picture (SVG) of how soon cars are fixed")
    parser.add_argument("--json", action="store_true", help="print the figures as JSON")
    options.add_knowledge(parser)


def run(given: argparse.Namespace) -> int:
    """Draw, walk and report."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy: each core walks a car of its own
    from comeback.cli import exit_codes, places
    from comeback.cli.options import knowledge_of, knowledge_read
    from comeback.cli.private_files import refuse_to_harm
    from comeback.cli.reports.rehearsing import Wanted, rehearse
    from comeback.cli.words.entries import take_names
    from comeback.engine.rehearsal.figures import figures
    from comeback.engine.rehearsal.rehearsal import without_openings

    _sensible(given)
    if given.plot:
        refuse_to_harm(Path(given.plot), places.log_place(None), knowledge_read(given))
    knowledge = without_openings(knowledge_of(given)) if given.free else knowledge_of(given)
    take_names(given, knowledge)
    wanted = Wanted(
        given.walks, given.seed, given.service, given.complaint, given.evenly,
        given.wrong / 100, given.unknown / 100,
    )  # fmt: skip
    jobs = given.jobs or os.cpu_count() or 1
    found = figures(knowledge, rehearse(wanted, knowledge, jobs))
    if given.json:
        print(as_json(_data(given, knowledge, found), indent=1))
    else:
        from comeback.cli.reports.rehearsal_text import report

        print("\n".join(report(found, _setting(given), knowledge)))
    if given.plot:
        _plot(given, found)
    return exit_codes.DONE


def _sensible(given: argparse.Namespace) -> None:
    from comeback.cli.errors import UsageError

    if not 1 <= given.walks <= 1_000_000:
        raise UsageError(f"--walks {given.walks} is not a valid number of comebacks. Give 1 to 1000000.")
    if given.seed < 0:
        raise UsageError(f"--seed {given.seed} is negative. Give 0 or more.")
    if given.jobs is not None and not 1 <= given.jobs <= 256:
        raise UsageError(f"--jobs {given.jobs} is not a valid number of processes. Give 1 to 256.")
    if not (given.wrong >= 0 and given.unknown >= 0 and given.wrong + given.unknown <= 90):
        raise UsageError("--wrong and --unknown are percentages of the answers, together 90 at most.")


def _setting(given: argparse.Namespace) -> str:
    """What was rehearsed, in a few words; the same words give the same report."""
    from comeback.cli.reports.rehearsing import CALLER_FACTOR

    answers = f"{given.wrong:g} % wrong answers, {given.unknown:g} % don't know (callers {CALLER_FACTOR:g} times that)"
    parts = [f"seed {given.seed}", answers]
    if given.service:
        parts.append(f"after {given.service}")
    if given.complaint:
        parts.append(f"with {given.complaint}")
    if given.evenly:
        parts.append("rare causes as often as common ones")
    if given.free:
        parts.append("no opening looks")
    return ", ".join(parts)


def _data(given: argparse.Namespace, knowledge: "KnowledgeBase", found: "Figures") -> dict[str, Any]:
    from comeback.cli.screens import wording

    asked = ("walks", "seed", "service", "complaint", "evenly", "free", "wrong", "unknown")
    return {
        "asked": {name: getattr(given, name) for name in asked},
        "knowledge": knowledge.version,
        "convention": "the last candidate is repaired and proven too; minutes include parts at the shop's rate",
        "figures": found.data(),
        "limits": wording.LIMITS,
    }


def _plot(given: argparse.Namespace, found: "Figures") -> None:
    from comeback.diagrams.plots.rehearsal_plot import rehearsal_plot

    title = f"Found and fixed within this many minutes, of {found.walks} simulated comebacks"
    Path(given.plot).write_text(rehearsal_plot(found, title, _setting(given)), encoding="utf-8")
    print(f"written {given.plot}", file=sys.stderr)
