"""An exam: fixed cars one after the other, no hints, marks at the end by the pass rule."""

from collections.abc import Sequence
from typing import Any

from comeback.cli.drill.results import Result, read_results, rule_lines
from comeback.cli.look import Look, Styled
from comeback.cli.numbers import counted
from comeback.engine.case.events import Event
from comeback.engine.case_log.drills import DrillLine, drill_lines
from comeback.engine.case_log.store import SqlCaseLog
from comeback.engine.drill.score import marks
from comeback.kb.schema import KnowledgeBase

FIRST_SEED = 1000
"""The exam that everybody gets who names no other: cars 1000, 1001 ..."""
MOST_CARS, MOST_SHOWN = 30, 12


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
    return {**exam, "id": _exam_of(opened), "number": number + 1}


def _exam_of(opened: Event) -> str | None:
    """Which exam a drill belongs to: the id of its first car."""
    exam = opened.payload.get("exam")
    return (exam["id"] or opened.case) if exam else None


def _cars(log: SqlCaseLog, opened: Event) -> list[DrillLine]:
    return [line for line in drill_lines(log) if _exam_of(line.opened) == _exam_of(opened)]


def marked(log: SqlCaseLog, opened: Event) -> list[Result]:
    """The results of the exam's cars, in order."""
    return sorted(read_results(_cars(log, opened))[0], key=lambda result: result.score.seed)


def screen(results: Sequence[Result], knowledge: KnowledgeBase, look: Look) -> list[Styled]:
    """The verdict with each part of the rule, then the cars that were missed."""
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
