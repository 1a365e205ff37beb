"""Results of drills: one learner over time, or a line for each learner; the ids for `--debrief` and `--resume`."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from comeback.cli.drill.exam import Result, read_results, rule_lines
from comeback.cli.drill.words import count, put
from comeback.cli.look import Look, Styled
from comeback.engine.case_log.drills import drill_lines
from comeback.engine.case_log.store import SqlCaseLog
from comeback.engine.drill.marks import PASS_OVER, Marks, marks
from comeback.kb.schema import KnowledgeBase

MOST_NAMED, LONGEST_NAME = 6, 12


@dataclass(frozen=True)
class Report:
    """Results of finished drills in order of name and time, ids of those stopped, how many could not be read."""

    results: Sequence[Result]
    stopped: Sequence[str]
    unreadable: int

    def by_learner(self) -> dict[str, list[Result]]:
        """Results by name."""
        found: dict[str, list[Result]] = {}
        for result in self.results:
            found.setdefault(result.by, []).append(result)
        return found


def report(log: SqlCaseLog, by: str | None) -> Report:
    """The drills that `by` began; None: everybody's."""
    lines = drill_lines(log, by)
    found, bad = read_results(lines)
    ordered = sorted(found, key=lambda result: (result.by, result.at, result.id))
    return Report(ordered, [line.id for line in lines if not line.finished], bad)


def as_data(report: Report) -> dict[str, Any]:
    """Learners with their marks over the last drills, and every drill."""
    learners = []
    for name, results in report.by_learner().items():
        got, every = _latest_marks(results), [asdict(result) for result in results]
        passed = got.passed and got.drills == PASS_OVER
        learners.append({"learner": name, "rules": got.rules, "passed": passed, "results": every})
    return {"learners": learners, "stopped": list(report.stopped), "unreadable": report.unreadable}


def learner_lines(report: Report, known: KnowledgeBase, look: Look) -> list[Styled]:
    """One learner: the latest drills line by line, then the pass rule over them."""
    results = list(report.results)
    got = _latest_marks(results)
    lines: list[Styled] = [
        ("title", f"{results[0].by}   {count(len(results), 'drill')} finished"),
        ("faint", "When         ID    Mode      Complaint        Checks   Result"),
        *(("plain", _line(result, known)[: look.width - 1]) for result in results[-PASS_OVER:]),
        ("faint", "In brackets the program's checks.  A debrief again: comeback drill --debrief ID"),
        ("title", f"The last {got.drills}, and what is asked to pass"),
        *rule_lines(got),
    ]
    calls = f"; calls: {got.calls}, promised in {got.promised}, read back in {got.read_back}" if got.calls else ""
    early = f"; the rule counts from {PASS_OVER} drills on" if got.drills < PASS_OVER else ""
    return [*lines, *put(look, [("", f"Hints: {got.hints}{calls}{early}")], 2), *_rest(report, look)]


def _latest_marks(results: Sequence[Result]) -> Marks:
    """The marks of the latest PASS_OVER drills."""
    return marks(result.score for result in results[-PASS_OVER:])


def _line(result: Result, known: KnowledgeBase) -> str:
    one = result.score
    complaint = known.complaints[one.complaint].name if one.complaint in known.complaints else one.complaint
    parts = ["SAFETY MISS"] if one.safety else []
    parts += ["advice wrong"] if one.advice is False else []
    parts += ["not found"] if one.found is False and not one.safety else []
    parts += [f"{one.too_soon} too soon"] if one.too_soon else []
    checks, when = f"{one.checks} ({one.program_checks})", result.at[5:16].replace("T", " ")
    said = ", ".join(parts) or "well done"
    return f"{when}  {result.id[:4]:4}  {one.mode:8}  {complaint[:15]:15}  {checks:7}  {said}"


def class_lines(report: Report, known: KnowledgeBase, look: Look) -> list[Styled]:
    """One line for each learner over the last drills of each; what the class misses most."""
    lines: list[Styled] = [
        ("title", f"Class: {count(len(report.by_learner()), 'learner')}, {count(len(report.results), 'drill')}"),
        ("faint", f"The last {PASS_OVER}        safety   right   cause   too     checks         passed"),
        ("faint", "of each            misses   advice  found   soon    (program's)    yet"),
    ]
    for name, results in report.by_learner().items():
        got = _latest_marks(results)
        verdict = f"from {PASS_OVER} on" if got.drills < PASS_OVER else "yes" if got.passed else "no"
        cells = f"{got.safety:6}   {_share(got.right, got.advised):6}  {_share(got.found, got.at_the_car):6}  "
        cells += f"{_share(got.too_soon, got.repairs):6}  {f'{got.checks} ({got.program_checks})':13}"
        lines.append(("plain", f"{name[:LONGEST_NAME]:{LONGEST_NAME}} {got.drills:4}  {cells}  {verdict}"))
    for complaint, times in Counter(r.score.complaint for r in report.results if r.score.missed).most_common(3):
        label = known.complaints[complaint].name if complaint in known.complaints else complaint
        lines.append(("plain", f"  missed {times}: {label} (--complaint {complaint})"))
    lines.append(("faint", "One learner, with the ids for --debrief: comeback drill --results --by NAME"))
    return [*lines, *_rest(report, look)]


def _share(part: int, whole: int) -> str:
    return f"{part}/{whole}" if whole else "-"


def _rest(report: Report, look: Look) -> list[Styled]:
    texts = []
    if report.stopped:
        named = ", ".join(report.stopped[-MOST_NAMED:])
        texts.append(f"{count(len(report.stopped), 'drill')} stopped on the way ({named}): comeback drill --resume ID")
    if report.unreadable:
        texts.append(f"{count(report.unreadable, 'result')} could not be read and left out.")
    return [("faint", line) for text in texts for line in look.wrap(text)]
