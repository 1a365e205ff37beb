"""What is wrong in a knowledge file, as a value: collected, sorted, shown all at once."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Problem:
    """One thing to fix: place first, then the rule it breaks and the remedy.

    `line` and `column` count from 1. `rule` is the short name by which the
    rule is documented and tested.
    """

    file: str
    line: int
    column: int
    rule: str
    message: str

    @property
    def lines(self) -> tuple[str, ...]:
        """The message as lines to print: place and remedy, then what can be copied into a file, at the left edge."""
        first, *more = self.message.split("\n")
        return f"{self.file}:{self.line}:{self.column}: {first} [{self.rule}]", *more

    def __str__(self) -> str:
        return "\n".join(self.lines)


class KnowledgeError(Exception):
    """The knowledge cannot be used. `problems` holds every reason, in file order."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(set(problems)))
        super().__init__("\n".join(map(str, self.problems)))
