"""Results of drills: one learner over time, a line for each learner, an exam with its marks."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from comeback.cli.drill.words import put
from comeback.cli.look import Look, Styled
from comeback.cli.numbers import counted
from comeback.engine.case.events import Event
from comeback.engine.case_log.drills import DrillLine, drill_lines
from comeback.engine.case_log.store import SqlCaseLog
from comeback.engine.drill import score as rule
from comeback.engine.drill.score import PASS_OVER, Marks, Score, Share, marks, read_score
from comeback.kb.schema import KnowledgeBase

MOST_NAMED, LONGEST_NAME, MOST_SHOWN = 6, 12, 12
WORDS = {True: "met", False: "NOT MET", None: "not tried"}


@dataclass(frozen=True)
class Result:
    """The score of a finished drill, with its id, who did it and when."""

    id: str
    by: str
    at: str
    score: Score


@dataclass(frozen=True)
class Report:
    """Results of finished drills in order of name and time, ids of those stopped, how many could not be read."""

    results: Sequence[Result]
    stopped: Sequence[str]
    unreadable: int


def read_results(lines: Iterable[DrillLine]) -> tuple[list[Result], int]:
    """The results of the finished drills, and how many could not be read."""
    found, bad = [], 0
    for line in lines:
        try:
            if line.finished:
                found.append(Result(line.id, line.opened.by, line.last.at, read_score(line.last.payload)))
        except (KeyError, TypeError, ValueError):
            bad += 1
    return found, bad


def report(log: SqlCaseLog, by: str | None) -> Report:
    """The drills that `by` began; None: everybody's."""
    lines = drill_lines(log, by)
    found, bad = read_results(lines)
    ordered = sorted(found, key=lambda result: (result.by, result.at, result.id))
    return Report(ordered, [line.id for line in lines if not line.finished], bad)


def rule_lines(got: Marks) -> list[Styled]:
    """Each part of the pass rule: what it was, what is asked, whether it is met."""
    right, soon = f"{100 * rule.LEAST_RIGHT:.0f} %", f"at most {100 * rule.MOST_TOO_SOON:.0f} %"
    checks = "at least one" if got.blind else f"at most {rule.MOST_CHECKS:g} x"
    checked = f"{got.checks[0]}, the program {got.checks[1]}" if got.counted else "no car done to its end"
    lines: list[Styled] = []
    for part, name, figure, asked in (
        ("safety", "Safety misses", f"{got.safety} in {got.drills}", "0"),
        ("advice", "Right advice", "{} of {}".format(*got.advice), right),
        ("found", "Cause found", "{} of {}".format(*got.found), right),
        ("too soon", "Repaired too soon", "{} of {}".format(*got.too_soon), soon),
        ("checks", "Checks", checked, checks),
    ):
        met = got.rules[part]
        lines.append(("say" if met is False else "plain", f"  {name:18}  {figure:24}  {asked:13}  {WORDS[met]}"))
    return lines


def learner_lines(report: Report, known: KnowledgeBase, look: Look) -> list[Styled]:
    """One learner: the latest drills line by line, then the pass rule over them."""
    results, latest = report.results, report.results[-PASS_OVER:]
    got, calls = (
        marks(result.score for result in latest),
        [one.score for one in latest if one.score.read_back is not None],
    )
    lines: list[Styled] = [
        ("title", f"{results[0].by}   {counted(len(results), 'drill')} finished"),
        ("faint", "When         ID    Mode      Complaint        Checks   Result"),
        *(("plain", _line(result, known)[: look.width - 1]) for result in latest),
        ("faint", "(n): the program's checks.  A debrief again: comeback drill --debrief ID"),
        ("title", f"The last {got.drills}, and what is asked to pass"),
        *rule_lines(got),
    ]
    text = f"Hints: {sum(one.score.hints for one in latest)}"
    if calls:
        promised, read_back = sum(bool(c.promised) for c in calls), sum(bool(c.read_back) for c in calls)
        text += f"; calls: {len(calls)}, promised in {promised}, read back in {read_back}"
    text += f"; the rule counts from {PASS_OVER} drills on" * (got.drills < PASS_OVER)
    return [*lines, *put(look, [("", text)], indent=2), *_rest(report, look)]


def _line(result: Result, known: KnowledgeBase) -> str:
    """One drill in the table of a learner."""
    one = result.score
    complaint = known.complaints[one.complaint].name if one.complaint in known.complaints else one.complaint
    parts = filter(None, (one.missed, f"{one.too_soon} too soon" * bool(one.too_soon)))
    checks, when = f"{one.checks} ({one.program_checks})", result.at[5:16].replace("T", " ")
    said = ", ".join(parts) or "well done"
    return f"{when}  {result.id[:4]:4}  {one.mode:8}  {complaint[:15]:15}  {checks:7}  {said}"


def class_lines(report: Report, known: KnowledgeBase, look: Look) -> list[Styled]:
    """One line for each learner over the last drills of each; what the class misses most."""
    learners = {name: list(results) for name, results in groupby(report.results, key=lambda result: result.by)}
    lines: list[Styled] = [
        ("title", f"Class: {counted(len(learners), 'learner')}, {counted(len(report.results), 'drill')}"),
        ("faint", f"The last {PASS_OVER}        safety   right   cause   too     checks         passed"),
        ("faint", "of each            misses   advice  found   soon    (program's)    yet"),
    ]
    for name, results in learners.items():
        got = marks(result.score for result in results[-PASS_OVER:])
        verdict = f"from {PASS_OVER} on" if got.drills < PASS_OVER else "yes" if got.passed else "no"
        cells = f"{got.safety:6}   {_share(got.advice):6}  {_share(got.found):6}  "
        cells += f"{_share(got.too_soon):6}  {'{} ({})'.format(*got.checks):13}"
        lines.append(("plain", f"{name[:LONGEST_NAME]:{LONGEST_NAME}} {got.drills:4}  {cells}  {verdict}"))
    for complaint, times in Counter(r.score.complaint for r in report.results if r.score.missed).most_common(3):
        label = known.complaints[complaint].name if complaint in known.complaints else complaint
        lines.append(("plain", f"  missed {times}: {label} (--complaint {complaint})"))
    lines.append(("faint", "One learner, with the ids for --debrief: comeback drill --results --by NAME"))
    return [*lines, *_rest(report, look)]


def _share(share: Share) -> str:
    return "{}/{}".format(*share) if share[1] else "-"


def _rest(report: Report, look: Look) -> list[Styled]:
    """Drills that were stopped, and results that could not be read."""
    named = ", ".join(report.stopped[-MOST_NAMED:])
    stopped = f"{counted(len(report.stopped), 'drill')} not finished ({named}): comeback drill --resume ID"
    bad = f"{counted(report.unreadable, 'result')} could not be read and left out."
    return look.styled("faint", stopped * bool(named)) + look.styled("faint", bad * bool(report.unreadable))


def next_of_exam(log: SqlCaseLog, opened: Event) -> dict[str, Any] | None:
    """What is recorded with the next car of this exam; None if there is none, or a car is not finished."""
    exam = opened.payload.get("exam")
    lines = _exam_of(log, opened) if exam else []
    if not exam or not all(line.finished for line in lines):
        return None
    number = max(line.opened.payload["exam"]["number"] for line in lines) + 1
    return {**exam, "id": exam["id"] or opened.case, "number": number} if number <= exam["of"] else None


def _exam_of(log: SqlCaseLog, opened: Event) -> list[DrillLine]:
    """All cars of the exam that this drill belongs to; the id of the first car is that of the exam."""

    def name(one: Event) -> str | None:
        exam = one.payload.get("exam")
        return (exam["id"] or one.case) if exam else None

    return [line for line in drill_lines(log) if name(line.opened) == name(opened)]


def exam_lines(log: SqlCaseLog, opened: Event, knowledge: KnowledgeBase, look: Look) -> list[Styled]:
    """The verdict of an exam with each part of the rule, then the cars that were missed."""
    results = sorted(read_results(_exam_of(log, opened))[0], key=lambda result: result.score.seed)
    got = marks(result.score for result in results)
    head = f"Exam: {'passed' if got.passed else 'not passed'}   ({results[0].id}, {counted(got.drills, 'car')})"
    lines: list[Styled] = [("faint", look.rule), ("title", head), *rule_lines(got)]
    missed = [result for result in results if result.score.missed]
    if missed:
        lines += [("plain", ""), ("title", "Look at these again: comeback drill --debrief ID")]
    for result in missed[:MOST_SHOWN]:
        one = result.score
        name = knowledge.complaints[one.complaint].name if one.complaint in knowledge.complaints else ""
        lines.append(("plain", f"  {result.id}  car {one.seed}  {name[:34].ljust(34)}  {one.missed}"))
    return lines
