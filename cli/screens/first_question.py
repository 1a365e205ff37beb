"""The first screen of a call, as lines of text, before anything is loaded; the same as the step's own screen."""

from comeback.cli.look import Look, Styled, aloud
from comeback.cli.screens import wording


def question_lines(look: Look) -> list[Styled]:
    """The head of a new case, and the question read aloud."""
    return [("faint", look.rule), ("title", wording.NEW_CALL), *aloud(wording.DRIVING, look), ("plain", "")]


def feet_lines(look: Look) -> list[Styled]:
    """The keys that answer it, and those that work everywhere."""
    return [*look.styled("faint", wording.DRIVING_HINT), *look.styled("faint", wording.KEYS)]
