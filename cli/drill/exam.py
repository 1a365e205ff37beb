"""An exam: fixed cars one after the other, no hints, marks at the end by the pass rule."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from comeback.cli.look import Look, Styled
from comeback.engine.case.events import Event
from comeback.engine.case_log.drills import DrillLine, drill_lines
from comeback.engine.case_log.store import SqlCaseLog
from comeback.engine.drill.marks import LEAST_RIGHT, MOST_CHECKS, MOST_TOO_SOON, Marks, marks
from comeback.engine.drill.score import Score, read_score
from comeback.kb.schema import KnowledgeBase

FIRST_SEED = 1000
"""The exam that everybody gets who names no other: cars 1000, 1001 ..."""
MOST_CARS, MOST_SHOWN = 30, 12
WORDS = {True: "met", False: "NOT MET", None: "not tried"}


def beginning(first: int, cars: int) -> dict[str, Any]:
    """What is recorded with the first car of an exam; its own id stands for the exam."""
    return {"id": None, "number": 1, "of": cars, "first": first}


def following(log: SqlCaseLog, opened: Event) -> dict[str, Any] | None:
    """What is recorded with the next car of this exam; None if there is none, or a car is not finished."""
    exam = opened.payload.get("exam")
    if not exam:
        return None
    lines = _cars(log, opened)
    number = max(line.opened.payload["exam"]["number"] for line in lines)
    if number >= exam["of"] or not all(line.finished for line in lines):
        return None
    return {**exam, "id": exam["id"] or opened.case, "number": number + 1}


def _cars(log: SqlCaseLog, opened: Event) -> list[DrillLine]:
    return [line for line in drill_lines(log) if exam_of(line.opened) == exam_of(opened)]


def exam_of(opened: Event) -> str | None:
    """Which exam a drill belongs to: the id of its first car."""
    exam = opened.payload.get("exam")
    return (exam["id"] or opened.case) if exam else None


@dataclass(frozen=True)
class Result:
    """The score of a finished drill, with its id, who did it and when."""

    id: str
    by: str
    at: str
    score: Score


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


def marked(log: SqlCaseLog, opened: Event) -> list[Result]:
    """The results of the exam's cars, in order."""
    return sorted(read_results(_cars(log, opened))[0], key=lambda result: result.score.seed)


def screen(results: Sequence[Result], knowledge: KnowledgeBase, look: Look) -> list[Styled]:
    """The verdict with each part of the rule, then the cars that were missed."""
    got = marks(result.score for result in results)
    verdict = "passed" if got.passed else "not passed"
    head = f"Exam: {verdict}   ({results[0].id}, {got.drills} {'car' if got.drills == 1 else 'cars'})"
    lines: list[Styled] = [("faint", look.rule), ("title", head), *rule_lines(got)]
    missed = [result for result in results if result.score.missed]
    if missed:
        lines += [("plain", ""), ("title", "Look at these again: comeback drill --debrief ID")]
    for result in missed[:MOST_SHOWN]:
        one = result.score
        what = "safety miss" if one.safety else "advice wrong" if one.advice is False else "cause not found"
        name = knowledge.complaints[one.complaint].name if one.complaint in knowledge.complaints else ""
        lines.append(("plain", f"  {result.id}  car {one.seed}  {name[:34].ljust(34)}  {what}"))
    return lines


def rule_lines(got: Marks) -> list[Styled]:
    """Each part of the pass rule: what it was, what is asked, whether it is met."""
    right, soon = f"{100 * LEAST_RIGHT:.0f} %", f"at most {100 * MOST_TOO_SOON:.0f} %"
    checks = "at least one" if got.blind else f"at most {MOST_CHECKS:g} x"
    checked = f"{got.checks}, the program {got.program_checks}" if got.counted else "no car done to its end"
    rows = (
        ("safety", "Safety misses", f"{got.safety} in {got.drills}", "0"),
        ("advice", "Right advice", f"{got.right} of {got.advised}", right),
        ("found", "Cause found", f"{got.found} of {got.at_the_car}", right),
        ("too soon", "Repaired too soon", f"{got.too_soon} of {got.repairs}", soon),
        ("checks", "Checks", checked, checks),
    )
    return [
        (
            "say" if got.rules[part] is False else "plain",
            f"  {name:18}  {figure:24}  {asked:13}  {WORDS[got.rules[part]]}",
        )
        for part, name, figure, asked in rows
    ]
