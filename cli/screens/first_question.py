"""The first screen of a call, as lines of text, before anything is loaded; the same as the step's own screen."""

from comeback.cli.look import Look, Styled, aloud
from comeback.cli.screens import wording


def question_lines(look: Look) -> list[Styled]:
    """The head of a new case, and the question read aloud."""
    said = aloud(wording.DRIVING, look)
    return [("faint", look.rule), ("title", wording.NEW_CALL), *(("say", line) for line in said), ("plain", "")]


def feet_lines(look: Look) -> list[Styled]:
    """The keys that answer it, and those that work everywhere."""
    return [("faint", line) for text in (wording.DRIVING_HINT, wording.KEYS) for line in look.wrap(text)]
