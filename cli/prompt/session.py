"""A sitting at the prompt: what it stands on, and the state that every typed line makes anew."""

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from comeback.cli.look import Look, Styled, show
from comeback.cli.prompt.log_opener import LogOpener
from comeback.cli.prompt.reply import Record
from comeback.cli.readers import Reader
from comeback.cli.records.case_list import Offer
from comeback.cli.screens.earlier_answers import EarlierAnswer
from comeback.cli.screens.stop_screens import Stop
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
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


@dataclass(frozen=True)
class ScreenState:
    """One moment of a sitting. Whatever is typed makes a new one out of it; nothing writes its fields."""

    walk: Walk
    due: bool = True
    """The screen is to be shown (again) before the next line is read."""

    # This step; `next_step` begins them anew.
    page: int = 0
    read: frozenset[Styled] = frozenset()
    """Lines of this step that were on the screen."""
    unread: bool = False
    found: tuple[str, ...] = ()
    """Complaints that are listed for the customer's words."""
    seen: tuple[str, ...] = ()
    """Checks that are listed for what was found without being asked for."""
    rest: tuple[tuple[Styled, ...], ...] = ()
    """Pages of a long list that are not read yet."""
    editing: EarlierAnswer | None = None
    doubt: Record | None = None
    """An unlikely reading that a `y` records after all."""
    stop: Stop | None = None

    # The whole sitting.
    words: str = ""
    """The customer's own words, until a complaint is recorded with them."""
    passed: frozenset[str] = frozenset()
    """Keys of the stop screens that were read."""
    reminded_at: steps.Step | None = None
    sat_down: int = 0
    """Number of the last event before this sitting; 0 in the sitting that opens the case."""
    nobody: int = -1
    """Number of the event since which nobody is on the line; -1: somebody may be."""
    just_told: bool = False
    left_open: frozenset[str] = frozenset()
    """Questions beside the steps that were left without an answer."""
    reopened: bool = False
    """An ended walk that is looked at again, until it is left or ends anew."""
    leaving: bool = False

    @property
    def opened(self) -> bool:
        """True once the case stands in the log."""
        return self.walk.case.id not in ("", "-")

    def next_step(self, walk: Walk) -> "ScreenState":
        """After a response to the step: a fresh screen; each step's own stop screens are shown anew."""
        passed = frozenset(key for key in self.passed if not key.startswith("step"))
        return ScreenState(
            walk, due=self.due, stop=self.stop, words=self.words, passed=passed, reminded_at=self.reminded_at,
            sat_down=self.sat_down, nobody=self.nobody, just_told=self.just_told, left_open=self.left_open,
            reopened=self.reopened,
        )  # fmt: skip

    def with_step(self, step: steps.Step, editing: EarlierAnswer | None = None) -> "ScreenState":
        """Jump to a step, to be shown; with `editing` its answer corrects that one. b returns without a change."""
        return replace(self, walk=self.walk.with_step(step), editing=editing, found=(), page=0, due=True)

    def shown(self) -> "ScreenState":
        """The same, its screen to be shown."""
        return replace(self, due=True)

    def without_told(self) -> "ScreenState":
        """What was read out before is no longer what the caller heard last."""
        return replace(self, passed=frozenset(key for key in self.passed if not key.startswith("told ")))
