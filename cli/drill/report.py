"""Results of drills: one learner over time, a class without names, cars that are due again."""

import shlex
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from comeback.cli.csv_text import csv_text
from comeback.cli.drill.exam import rule_lines
from comeback.cli.drill.words import count
from comeback.cli.look import Look, Styled
from comeback.engine.drill.results import (
    PASS_OVER,
    PHONE,
    DueCar,
    Result,
    TrainNext,
    calibration,
    due_cars,
    latest,
    learner_id,
    marks,
    train_next,
)
from comeback.kb.schema import KnowledgeBase

COLUMNS = ("learner", "id", "at", "mode", "seed", "complaint", "ended", "safety_misses", "advice_right", "cause_found",
           "checks", "program_checks", "minutes", "program_minutes", "conclusions", "unwarranted", "suspects_named",
           "suspects_true", "suspects_in_top_3", "hints", "promised", "read_back", "exam")  # fmt: skip
TRAIN = {
    "safety": "danger signs: before everything else, every time",
    "advice": "the advice on driving: what each sign and cause asks for",
    "found": "finding the cause: go on until the complaint is gone",
    "conclusions": "conclusions: rule out what is still open before you repair",
    "checks": "choice of checks: the one that tells most for its minutes",
    "promises": "the end of a call: promise nothing, read back",
    "due": "the cars that are due again: comeback drill --due",
    "": "nothing stands out; make it harder (guided, free, exam)",
}
MOST_ROWS, MOST_NAMED = 20, 6


@dataclass(frozen=True)
class Report:
    """Results, without names where `named` is false; ids of drills stopped on the way; `today` as a day's number."""

    results: Sequence[Result]
    stopped: tuple[str, ...]
    unreadable: int
    today: int
    version: str
    mark: str
    named: bool

    def learner(self, name: str) -> str:
        """How a learner is called in this report."""
        return name if self.named else learner_id(name, self.mark)

    def due(self) -> list[DueCar]:
        """Missed cars that can still be drawn: those of other knowledge would be other cars."""
        return [car for car in due_cars(self.results) if car.car[3] == self.version]

    def by_learner(self) -> dict[str, list[Result]]:
        """Results by name, each in order of time."""
        found: dict[str, list[Result]] = {}
        for result in sorted(self.results, key=lambda r: (r.at, r.id)):
            found.setdefault(result.by, []).append(result)
        return found

    def next(self, name: str, results: Sequence[Result]) -> TrainNext:
        """What this learner should train."""
        now = sum(car.due <= self.today and car.by == name for car in self.due())
        return train_next(results, now)


def row(report: Report, result: Result) -> list[Any]:
    """One drill in COLUMNS."""
    return [
        report.learner(result.by), result.id, result.at, result.mode, result.car[0], result.complaint, result.ended,
        len(result.safety), result.advice, result.found, result.checks, result.program_checks, result.minutes,
        result.program_minutes, result.conclusions, result.unwarranted, result.named, result.named_true,
        result.named_leading, result.hints, " ".join(result.promised), result.read_back, result.exam,
    ]  # fmt: skip


def as_csv(report: Report) -> str:
    """One drill a line; cells that a spreadsheet would take for a formula are quoted."""
    made = [row(report, result) for results in report.by_learner().values() for result in results]
    return csv_text([COLUMNS, *made])


def as_data(report: Report) -> dict[str, Any]:
    """Learners with their marks over the last drills, and every drill."""
    learners = []
    for name, results in report.by_learner().items():
        got, said, what = marks(latest(results)), calibration(results), report.next(name, results)
        learners.append(
            {
                "learner": report.learner(name), "drills": len(results), "last": got.drills, "rules": dict(got.rules),
                "passed": got.passed and got.drills == PASS_OVER,
                "brier": round(said[0], 4) if said else None, "train_next": what.what, "complaint": what.complaint,
                "results": [dict(zip(COLUMNS, row(report, result), strict=True)) for result in results],
            }
        )  # fmt: skip
    return {"learners": learners, "stopped": len(report.stopped), "unreadable": report.unreadable}


def learner_screens(report: Report, name: str, known: KnowledgeBase, look: Look) -> list[list[Styled]]:
    """One learner: the latest drills line by line, then the rule over them beside those before."""
    results = report.by_learner().get(name, [])
    head = f"{name}  ({learner_id(name, report.mark)} in the class)   {count(len(results), 'drill')} finished"
    lines: list[Styled] = [
        ("title", head),
        ("faint", "When         ID    Mode      Complaint        Checks   Result"),
    ]
    lines += [("plain", _line(result, known)[: look.width - 1]) for result in latest(results)]
    lines.append(("faint", "In brackets the program's checks.  A debrief again: comeback drill --debrief ID"))
    got, before = marks(latest(results)), marks(latest(results[:-PASS_OVER]))
    second: list[Styled] = [("title", f"The last {got.drills}, and what is asked to pass")]
    second += rule_lines(got, before)
    if got.drills < PASS_OVER:
        second.append(("plain", f"  The rule counts from {PASS_OVER} drills on."))
    second.append(("plain", f"  Hints: {got.hints}"))
    if got.calls:
        second.append(("plain", f"  Calls: {got.calls}; promised in {got.promised}; read back in {got.read_back}"))
    second += [("plain", x) for x in look.wrap(_suspects(results), 2, "  ")]
    second += [("say", x) for x in look.wrap(_next(report.next(name, results), known), 12, "Train next")]
    return [lines, [*second, *_rest(report, look)]]


def _line(result: Result, known: KnowledgeBase) -> str:
    complaint = known.complaints[result.complaint].name if result.complaint in known.complaints else result.complaint
    parts = ["SAFETY MISS"] if result.safety else []
    if result.advice is False:
        parts.append("advice wrong")
    if result.found is False and not result.safety:
        parts.append("not found")
    if result.unwarranted:
        parts.append(f"{result.unwarranted} too soon")
    checks = f"{result.checks} ({result.program_checks})"
    when = result.at[5:16].replace("T", " ")
    said = ", ".join(parts) or "well done"
    return f"{when}  {result.id[:4]:4}  {result.mode:8}  {complaint[:15]:15}  {checks:7}  {said}"


def _suspects(results: Sequence[Result]) -> str:
    named, true = sum(r.named for r in results), sum(r.named_true for r in results)
    if not named:
        return "Suspects: none named."
    likely = sum(r.named_leading for r in results)
    text = f"Suspects: a true cause {true} of {named} times; among the three likeliest then {likely}."
    said = calibration(results)
    if said:
        figure = f"{said[0]:.2f} over {said[1]} (0 is best, 0.25 is guessing)"
        return f"{text} How sure was said against how often it was true: {figure}."
    return f"{text} How sure was said against how often it was true: from {PASS_OVER} drills on."


def _next(what: TrainNext, known: KnowledgeBase) -> str:
    text = TRAIN[what.what]
    if what.complaint is not None and what.complaint in known.complaints:
        text += f". Missed most: {known.complaints[what.complaint].name} (--complaint {what.complaint})"
    return text


def class_screens(report: Report, known: KnowledgeBase, look: Look) -> list[list[Styled]]:
    """One line for each learner, without names, over the last drills of each; what the class misses most."""
    head: list[Styled] = [
        ("title", f"Class: {count(len(report.by_learner()), 'learner')}, {count(len(report.results), 'drill')}"),
        ("faint", f"Last {PASS_OVER} each   safety  right   cause  too    checks         passed      train"),
        ("faint", "                misses  advice  found  soon   (program's)    yet         next"),
    ]
    rows: list[Styled] = []
    for name, results in _learners(report):
        got, what = marks(latest(results)), report.next(name, results).what
        verdict = f"from {PASS_OVER} on" if got.drills < PASS_OVER else "yes" if got.passed else "no"
        cells = f"{got.safety:6}  {_share(got.right, got.advised):>6}  {_share(got.found, got.at_the_car):>5}"
        cells += f"  {_share(got.unwarranted, got.conclusions):>5}  {f'{got.checks} ({got.program_checks})':13}"
        rows.append(("plain", f"{report.learner(name):7} {got.drills:5}  {cells}  {verdict:12}{what}".rstrip()))
    foot: list[Styled] = []
    missed = Counter(result.complaint for result in report.results if result.missed)
    for complaint, times in missed.most_common(3):
        label = known.complaints[complaint].name if complaint in known.complaints else complaint
        foot.append(("plain", f"  missed {times}: {label} (--complaint {complaint})"))
    return [*_paged([*head], rows, [*foot, *_rest(report, look)]), *_drills(report)]


def _learners(report: Report) -> list[tuple[str, list[Result]]]:
    """Learners in an order that tells nothing of their names."""
    return sorted(report.by_learner().items(), key=lambda pair: report.learner(pair[0]))


def _share(part: int, whole: int) -> str:
    return f"{part}/{whole}" if whole else "-"


def _paged(head: list[Styled], rows: list[Styled], last: list[Styled]) -> list[list[Styled]]:
    """Rows in screens, the head on each; `last` below them, on a screen of its own if there is no room."""
    room = MOST_ROWS + 2 - len(head)
    screens = [[*head, *rows[k : k + room]] for k in range(0, max(1, len(rows)), room)]
    if len(screens[-1]) + len(last) <= MOST_ROWS + 2:
        return [*screens[:-1], [*screens[-1], *last]]
    return [*screens, last]


def _drills(report: Report) -> list[list[Styled]]:
    """The ids of each learner's latest drills, to see a debrief again."""
    head: list[Styled] = [
        ("title", "The last drills of each by their ID, the latest last;  ! safety miss   x missed"),
        ("faint", "The debrief of one:  comeback drill --debrief ID"),
    ]
    rows: list[Styled] = []
    for name, results in _learners(report):
        ids = [f"{r.id}{'!' if r.safety else 'x' if r.missed else ' '}" for r in latest(results)]
        rows.append(("plain", f"{report.learner(name):7}  {' '.join(one[-7:] for one in ids)}".rstrip()))
    return _paged(head, rows, [])


def _rest(report: Report, look: Look) -> list[Styled]:
    texts = []
    if report.stopped:
        named = ", ".join(report.stopped[-MOST_NAMED:])
        texts.append(f"{count(len(report.stopped), 'drill')} stopped on the way ({named}): comeback drill --resume ID")
    if report.unreadable:
        texts.append(f"{count(report.unreadable, 'result')} could not be read and left out.")
    return [("faint", line) for text in texts for line in look.wrap(text)]


def due_lines(report: Report, known: KnowledgeBase, look: Look) -> list[Styled]:
    """Missed cars by the day they are due, with the command for each."""
    cars, out = report.due(), []
    for car in cars[: MOST_ROWS // 2]:
        name = known.complaints[car.complaint].name if car.complaint in known.complaints else car.complaint
        who = f"{report.learner(car.by)}  " if not report.named else ""
        out.append((_when(car.due, report.today), f"{who}{name[:40]}", command(car)))
    if not out:
        return [("plain", "No car is due again.")]
    lines: list[Styled] = [("title", "Cars that were missed and come back after 1, 3, 7 and 21 days")]
    for when, name, typed in out:
        style = "say" if when.startswith("now") else "plain"
        lines += [(style, f"  {when:12}{name}"), ("faint", f"    {typed}")]
    if len(cars) > len(out):
        lines.append(("faint", f"and {len(cars) - len(out)} more"))
    return lines


def _when(due: int, today: int) -> str:
    return "now" if due <= today else "tomorrow" if due == today + 1 else f"{date.fromordinal(due):%m-%d}"


def command(car: DueCar) -> str:
    """What to type for this very car."""
    seed, service, complaint, _ = car.car
    parts = ["comeback drill --mode", PHONE if car.mode == PHONE else "free", f"--seed {seed}"]
    parts += [f"--service {service}"] if service else []
    parts += [f"--complaint {complaint}"] if complaint else []
    return " ".join([*parts, f"--by {shlex.quote(car.by)}"])


def due_data(report: Report) -> list[dict[str, Any]]:
    """The cars that are due again as plain data."""
    show: Callable[[DueCar], dict[str, Any]] = lambda car: {  # noqa: E731
        "learner": report.learner(car.by), "due": date.fromordinal(car.due).isoformat(), "now": car.due <= report.today,
        "went_well": car.step, "seed": car.car[0], "complaint": car.complaint, "command": command(car),
    }  # fmt: skip
    return [show(car) for car in report.due()]
