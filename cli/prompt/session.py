"""What a sitting at the prompt stands on: who answers, from where, how text looks, and where the case is kept."""

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from comeback.cli.look import Look, Styled, show
from comeback.cli.prompt.log_opener import LogOpener
from comeback.cli.readers import Reader
from comeback.cli.records.case_list import Offer
from comeback.kb.vocabulary import Audience, Level


@dataclass(frozen=True)
class PromptSession:
    """One sitting. `car` and `shop` go into the case that it opens; `units` are what a reading is echoed in.

    `quiet`: only the JSON at the end is wanted; `offers`: unfinished walks that one could go on with.
    """

    reader: Reader
    look: Look
    log: LogOpener
    by: str
    car: str = ""
    quiet: bool = False
    level: Level = Level.TECHNICIAN
    units: str = "both"
    shop: str = ""
    offers: Callable[[], list[Offer]] = list
    noted: list[Styled] = field(default_factory=list)
    """What was recorded of the last line typed, until it is shown: under the head of the screen that follows."""

    def show(self, lines: Sequence[Styled] = ()) -> None:
        """Print what was noted and then lines, if there are any."""
        lines = [*self.take_noted(), *lines]
        if lines and not self.quiet:
            show(lines, self.look, sys.stdout)

    def take_noted(self) -> list[Styled]:
        """What was noted and not shown yet; it is shown once."""
        noted = [*self.noted]
        self.noted.clear()
        return noted

    def say(self, text: str) -> None:
        """Print a remark."""
        self.show(self.look.styled("say", text))


def command_for(audience: Audience) -> str:
    """The command that goes on with a walk, but for its case id."""
    return "triage" if audience is Audience.BAY else "call --case"
