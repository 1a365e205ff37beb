"""The answers of a case as lines: codes read at one go, and many answers as they should be, in one line each."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from comeback.cli.screens.event_text import answer_text, panel_of, panel_text
from comeback.engine.case.case import Answer
from comeback.kb.schema import KnowledgeBase

MANY = 4
"""Answers of one screen that are as they should be: more than these stand in one line."""


def findings(
    knowledge: KnowledgeBase, answers: Sequence[Answer], codes: Mapping[int, Sequence[str]]
) -> Iterator[tuple[Sequence[Answer], str]]:
    """(answers of one screen in a line, its text), in order; `codes` are the trouble codes typed, by event."""
    for number, group in groupby(answers, key=lambda answer: answer.number):
        same, typed = list(group), codes.get(number, ())
        results = {answer.check: answer.result for answer in same}
        panel = panel_of(knowledge, results)
        if panel is not None:
            yield same, panel_text(knowledge, panel, results, typed)
            continue
        clean = [answer for answer in same if _as_it_should_be(knowledge, answer)]
        if len(clean) > MANY:
            yield clean, f"OK: {', '.join(knowledge.checks[answer.check].name for answer in clean)}"
        for answer in same:
            if len(clean) <= MANY or answer not in clean:
                name = knowledge.checks[answer.check].name if answer.check in knowledge.checks else answer.check
                text = answer_text(knowledge, answer.check, answer.result, answer.reading)
                text += f"; codes {', '.join(typed)}" if typed else ""
                yield [answer], f"{name}: {'second look: ' * answer.again}{text}"


def _as_it_should_be(knowledge: KnowledgeBase, answer: Answer) -> bool:
    """True for the expected result, found at the first look and without a reading."""
    known = knowledge.checks.get(answer.check)
    return known is not None and answer.result == known.expected and not answer.reading and not answer.again
