"""Rehearse simulated comebacks, beside other ways to work on the same cars.

Each car is drawn from the knowledge, sometimes with several causes; the caller and
the technician sometimes answer wrongly or don't know. It is called in, then worked
on by the guided walk, by repairs in order of chance over price without checks, and
by a checklist that is always the same. The same seed gives the same report.
It measures the program against its own knowledge, not the knowledge against cars.
"""

import argparse
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from functools import partial

from comeback.cli import exit_codes, options
from comeback.cli.errors import UsageError
from comeback.cli.parallel import available_cores, show_progress, spread
from comeback.cli.words.search_services import take_names
from comeback.engine.rehearsal import rehearsal as ends
from comeback.engine.rehearsal.figures import Figures, figures
from comeback.engine.rehearsal.rehearsal import Rehearsal, Rehearsed, without_openings
from comeback.engine.rehearsal.simulation import Chance, Comeback, Slack, draw_comeback
from comeback.kb.schema import KnowledgeBase

CHUNK = 200
"""Comebacks drawn at a time."""
PIECE, LARGE_PIECE = 10, 250
"""Comebacks that a process takes at a time, least and most: the more, the more of the work they share."""
CALLER_FACTOR = 1.5
"""A caller, without tools and with the car in mind, errs so many times as often as asked; a technician as often."""
MOST_UNSAFE = 5


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
    options.add(parser, "--json", *options.KNOWLEDGE)


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


@dataclass(frozen=True)
class Wanted:
    """What to rehearse; chances are 0 to 1. `even`: people err as often at every sign."""

    walks: int
    seed: int
    service: str | None = None
    complaint: str | None = None
    wrong: float = 0.0
    unknown: float = 0.0
    even: bool = False

    def draw(self, knowledge: KnowledgeBase, number: int) -> Comeback:
        """The comeback of this number. Raises UsageError if the knowledge has none like it."""
        seed = int(Chance(self.seed).of("comeback", number) * 2**53)
        car = draw_comeback(knowledge, seed, self.service, self.complaint)
        if car is None:
            wanted = " and ".join(filter(None, (self.service, self.complaint))) or "any service"
            raise UsageError(f"No car comes back like that ({wanted}). Try another complaint or service.")
        return car


def rehearse(wanted: Wanted, knowledge: KnowledgeBase, jobs: int) -> list[Rehearsed]:
    """All comebacks in the order of their numbers, whatever the number of processes."""
    begin = partial(_Rehearsing, wanted, knowledge)
    chunks = [range(first, min(first + CHUNK, wanted.walks)) for first in range(0, wanted.walks, CHUNK)]
    groups = [group for found in spread(begin, _Rehearsing.groups, chunks, jobs) for group in found]
    rows: list[tuple[int, Rehearsed]] = []
    try:
        for done in spread(begin, _Rehearsing.walk, _alike(groups), jobs):
            rows += done
            show_progress(f"rehearsed {len(rows)} of {wanted.walks} comebacks")
    finally:
        show_progress()
    return [row for _, row in sorted(rows, key=lambda pair: pair[0])]


class _Rehearsing:
    """What one process needs; walks that begin alike share what it remembers."""

    def __init__(self, wanted: Wanted, knowledge: KnowledgeBase) -> None:
        self.wanted, self.knowledge = wanted, knowledge
        caller = Slack(wanted.wrong * CALLER_FACTOR, wanted.unknown * CALLER_FACTOR, wanted.even)
        self.rehearsal = Rehearsal(knowledge, caller, Slack(wanted.wrong, wanted.unknown, wanted.even))

    def groups(self, numbers: Sequence[int]) -> list[tuple[str, str]]:
        """Service and complaint of each number's comeback."""
        return [(car.service, car.complaint) for car in (self.wanted.draw(self.knowledge, n) for n in numbers)]

    def walk(self, numbers: Sequence[int]) -> list[tuple[int, Rehearsed]]:
        """The comebacks of these numbers, walked."""
        return [(number, self.rehearsal.run(self.wanted.draw(self.knowledge, number))) for number in numbers]


def _alike(groups: Sequence[tuple[str, str]]) -> list[list[int]]:
    """Pieces of comebacks with the same service and complaint, the largest groups first."""
    by_group: dict[tuple[str, str], list[int]] = {}
    for number, group in enumerate(groups):
        by_group.setdefault(group, []).append(number)
    ordered = sorted(by_group.values(), key=len, reverse=True)
    size = max(PIECE, min(LARGE_PIECE, len(groups) // 40))
    return [group[k : k + size] for group in ordered for k in range(0, len(group), size)]


def report(figures: Figures, setting: str, knowledge: KnowledgeBase) -> list[str]:
    """Lines of the report, the safety of the advice first."""
    return [part for line in _lines(figures, setting, knowledge) for part in (textwrap.wrap(line, 79) or [""])] + [
        *_table(figures),
        *textwrap.wrap(
            "Minutes from the danger signs to the end: checks, repairs with parts and proof, hand-over; "
            f"{figures.known:.0f} if the causes were known. Saved: minutes the guided walk saves on the same cars, "
            "with two standard errors. Unneeded: repairs per 100 cars that could fix nothing. Per 100 cars the bay "
            f"called the customer back {figures.call_backs:.0f} times and looked again {figures.again:.0f} times.",
            79,
        ),
    ]


def _lines(figures: Figures, setting: str, knowledge: KnowledgeBase) -> Iterator[str]:
    n = figures.walks
    yield f"{n} simulated comebacks, {figures.several} with several causes; {setting}; knowledge {knowledge.version}"
    yield ""
    yield f"Unsafe advice on the phone: {len(figures.unsafe)} of {n} calls"
    yield from (f"  {line}" for line in figures.unsafe[:MOST_UNSAFE])
    advice = ", ".join(f"{word} {count}" for word, count in figures.advice.items() if count)
    yield f"Solved on the phone: {figures.solved}; {figures.solved_wrongly} of these came in after all."
    yield f"A call: {figures.call_minutes:.1f} min, {figures.questions:.1f} screens. Advice: {advice}."
    yield (
        f"More urgent than needed: {figures.harsher}, by two levels or more {figures.much_harsher} ({figures.signed} "
        f"with a danger sign the car had). Milder than a cause nobody brought up needs: {figures.milder}."
    )
    yield ""


def _table(figures: Figures) -> Iterator[str]:
    yield f"{'of 100 cars':26}{'fixed':>7}{'handed':>8}{'wrongly':>9}{'screens':>9}{'90 %':>6}{'unneeded':>10}"
    for way in figures.ways:
        fixed = way.ends[ends.FIXED] + way.ends[ends.SOLVED]
        handed = way.ends[ends.HANDED_OVER] + way.ends[ends.RIGHT_SPECIALIST]
        shares = [100 * count / figures.walks for count in (fixed, handed, way.ends[ends.WRONGLY])]
        screens = f"{way.steps:9.1f}{way.steps_ninety:6.0f}"
        yield f"{way.way:26}{shares[0]:7.1f}{shares[1]:8.1f}{shares[2]:9.1f}{screens}{way.needless:10.0f}"
    yield ""
    yield f"{'minutes per car':26}{'mean':>7}{'median':>8}{'90 %':>9}{'saved':>16}"
    for way in figures.ways:
        saved = "" if way.way == ends.GUIDED else f"{way.saved:.0f} +- {way.spread:.0f}"
        yield f"{way.way:26}{way.mean:7.0f}{way.median:8.0f}{way.ninety:9.0f}{saved:>16}"
    yield ""
