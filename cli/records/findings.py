"""The answers of a case as lines: codes read at one go, and many answers as they should be, in one line each."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from comeback.cli.screens.event_text import answer_text, panel_of, panel_text
from comeback.engine.case.case import Answer
from comeback.kb.schema import KnowledgeBase

MANY = 4
"""Answers of one screen that are as they should be: more than these stand in one line."""


@dataclass(frozen=True)
class Finding:
    """One line: the answers of one screen that it stands for, and what they say."""

    answers: tuple[Answer, ...]
    text: str

    @property
    def first(self) -> Answer:
        """The answer whose time and person stand for all."""
        return self.answers[0]


def findings(
    knowledge: KnowledgeBase, answers: Sequence[Answer], codes: Mapping[int, Sequence[str]]
) -> Iterator[Finding]:
    """The answers in order, folded; `codes` are the trouble codes typed, by the number of their event."""
    for number, group in groupby(answers, key=lambda answer: answer.number):
        same, typed = tuple(group), codes.get(number, ())
        results = {answer.check: answer.result for answer in same}
        panel = panel_of(knowledge, results)
        if panel is not None:
            yield Finding(same, panel_text(knowledge, panel, results, typed))
            continue
        clean = tuple(answer for answer in same if as_it_should_be(knowledge, answer))
        if len(clean) > MANY:
            names = ", ".join(knowledge.checks[answer.check].name for answer in clean)
            yield Finding(clean, f"OK: {names}")
        for answer in same:
            if len(clean) <= MANY or answer not in clean:
                yield Finding((answer,), _text(knowledge, answer, typed))


def _text(knowledge: KnowledgeBase, answer: Answer, codes: Sequence[str]) -> str:
    name = knowledge.checks[answer.check].name if answer.check in knowledge.checks else answer.check
    second = "second look: " if answer.again else ""
    typed = f"; codes {', '.join(codes)}" if codes else ""
    return f"{name}: {second}{answer_text(knowledge, answer.check, answer.result, answer.reading)}{typed}"


def as_it_should_be(knowledge: KnowledgeBase, answer: Answer) -> bool:
    """True for the expected result, found at the first look and without a reading."""
    known = knowledge.checks.get(answer.check)
    return known is not None and answer.result == known.expected and not answer.reading and not answer.again
