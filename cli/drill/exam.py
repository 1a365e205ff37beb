"""An exam: fixed cars one after the other, no hints, marks at the end by the pass rule."""

from collections.abc import Mapping, Sequence
from typing import Any

from comeback.cli.drill.kept import read
from comeback.cli.look import Look, Styled
from comeback.engine.case.events import Event
from comeback.engine.case_log.drills import DrillLine, drill_lines
from comeback.engine.case_log.store import SqlCaseLog
from comeback.engine.drill.results import LEAST_RIGHT, MOST_CHECKS, MOST_UNWARRANTED, Marks, Result, marks
from comeback.kb.schema import KnowledgeBase

FIRST_SEED = 1000
"""The exam that everybody gets who names no other: cars 1000, 1001 ..."""
CARS = 10
MOST_CARS = 30
MOST_SHOWN = 12
WORDS = {True: "met", False: "NOT MET", None: "not tried"}


def beginning(first: int, cars: int) -> dict[str, Any]:
    """What is recorded with the first car of an exam; its own id stands for the exam."""
    return {"id": None, "number": 1, "of": cars, "first": first}


def following(log: SqlCaseLog, opened: Event) -> dict[str, Any] | None:
    """What is recorded with the next car of this exam; None if there is none, or it has begun and is not finished."""
    exam = opened.payload.get("exam")
    if not exam:
        return None
    lines = _cars(log, opened)
    number = max(line.opened.payload["exam"]["number"] for line in lines)
    if number >= exam["of"] or not all(line.finished for line in lines):
        return None
    return {**exam, "id": exam["id"] or opened.case, "number": number + 1}


def _cars(log: SqlCaseLog, opened: Event) -> list[DrillLine]:
    name = exam_of(opened)
    return [line for line in drill_lines(log) if exam_of(line.opened) == name]


def exam_of(opened: Event) -> str | None:
    """Which exam a drill belongs to: the id of its first car."""
    exam = opened.payload.get("exam")
    return (exam["id"] or opened.case) if exam else None


def marked(log: SqlCaseLog, opened: Event) -> list[Result]:
    """The results of the exam's cars, in order."""
    found, _ = read(_cars(log, opened))
    return sorted(found, key=lambda result: result.car[0])


def plain(results: Sequence[Result]) -> Mapping[str, Any]:
    """The marks as plain data."""
    got = marks(results)
    return {
        "exam": results[0].exam, "by": results[0].by, "passed": got.passed, "rules": dict(got.rules),
        "cars": [{"id": r.id, "seed": r.car[0], "ended": r.ended, "missed": r.missed} for r in results],
    }  # fmt: skip


def screens(results: Sequence[Result], knowledge: KnowledgeBase, look: Look) -> list[list[Styled]]:
    """The verdict with each part of the rule, then the cars that were missed."""
    got = marks(results)
    verdict = "passed" if got.passed else "not passed"
    lines: list[Styled] = [("faint", look.rule), ("title", f"Exam: {verdict}   ({results[0].exam}, {got.drills} cars)")]
    lines += rule_lines(got)
    missed = [result for result in results if result.missed]
    if missed:
        lines += [("plain", ""), ("title", "Look at these again: comeback drill --debrief ID")]
    for result in missed[:MOST_SHOWN]:
        what = "safety miss" if result.safety else "advice wrong" if result.advice is False else "cause not found"
        name = knowledge.complaints[result.complaint].name if result.complaint in knowledge.complaints else ""
        lines.append(("plain", f"  {result.id}  car {result.car[0]}  {name[:34].ljust(34)}  {what}"))
    return [lines]


def rule_lines(got: Marks, before: Marks | None = None) -> list[Styled]:
    """Each part of the pass rule: what it was, what is asked, whether it is met; `before`, to see where it goes."""
    met = dict(got.rules)
    rows = [
        ("safety", "Safety misses", "0", _safety),
        ("advice", "Right advice", f"{100 * LEAST_RIGHT:.0f} %", _advice),
    ]
    rows += [("found", "Cause found", f"{100 * LEAST_RIGHT:.0f} %", _found)]
    rows += [("conclusions", "Concluded too soon", f"at most {100 * MOST_UNWARRANTED:.0f} %", _unwarranted)]
    rows += [("checks", "Checks", f"at most {MOST_CHECKS:g} x", _checks)]
    out: list[Styled] = []
    for part, name, asked, figure in rows:
        earlier = f"  before: {figure(before)}" if before and before.drills else ""
        text = f"  {name:18}  {figure(got):24}  {asked:13}  {WORDS[met[part]]:9}{earlier}"
        out.append(("say" if met[part] is False else "plain", text.rstrip()))
    return out


def _safety(got: Marks) -> str:
    return f"{got.safety} in {got.drills}"


def _advice(got: Marks) -> str:
    return f"{got.right} of {got.advised}"


def _found(got: Marks) -> str:
    return f"{got.found} of {got.at_the_car}"


def _unwarranted(got: Marks) -> str:
    return f"{got.unwarranted} of {got.conclusions}"


def _checks(got: Marks) -> str:
    return f"{got.checks}, the program {got.program_checks}" if got.counted else "no car done to its end"
