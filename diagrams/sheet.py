"""A chart in words as data: what is printed, place by place. Who puts a ladder into it: words.py."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from comeback.diagrams.notices import Notice, gravest_first

LIMITS = "The car maker's data, local codes and licensed practice come first."
STOP = "Engine off, key out, nobody near, call the foreman"
CLOSE = "Fixed only if the complaint is gone in normal use; if not, next row. Write down cause and repair."
HAND_OVER = "Not found: hand over to the foreman with this sheet. Ruled out: all that was looked at and was OK."


@dataclass(frozen=True)
class Line:
    """One row in words: where to look, how, what may be found, what to do, when it is fixed.

    `span`: rows that share the look (0: it is in the row above). `plain`: nothing is looked at, the repair is done.
    `cautions`: of the look and its rows, those that not every look of the step needs.
    """

    look: str
    how: str
    find: str
    do: tuple[str, ...]
    fixed: str
    span: int = 1
    plain: bool = False
    cautions: tuple[Notice, ...] = ()


@dataclass(frozen=True)
class Step:
    """A station in words. `exit`: what leads on; `then`: to which step, 0 at the end. `codes`: of the code table.

    `cautions`: those of all its rows. `note`: what else its state needs.
    """

    number: int
    title: str
    state: str
    cautions: tuple[Notice, ...]
    lines: tuple[Line, ...]
    exit: str
    then: int
    decision: bool = False
    codes: bool = False
    note: str = ""

    @property
    def all_cautions(self) -> tuple[Notice, ...]:
        """Those of the step and those of its rows, the gravest first."""
        return gravest_first((*self.cautions, *(one for line in self.lines for one in line.cautions)))

    def without(self, told: Iterable[Notice]) -> "Step":
        """The step without the cautions that stand elsewhere."""
        lines = (replace(line, cautions=_but(line.cautions, told)) for line in self.lines)
        return replace(self, cautions=_but(self.cautions, told), lines=tuple(lines))


def _but(cautions: Iterable[Notice], told: Iterable[Notice]) -> tuple[Notice, ...]:
    return tuple(one for one in cautions if one not in told)


@dataclass(frozen=True)
class Spoken:
    """What is read aloud to a caller with one advice, and what is not promised."""

    name: str
    say: tuple[str, ...]
    worse: tuple[str, ...]
    promise_not: tuple[str, ...]


@dataclass(frozen=True)
class Sheet:
    """A chart in words.

    `common`: cautions of so many steps that they are on top of every page. `now`: what comes before all else.
    `spacing`: of the lines; closer to save a page, or wider so that the last one is not nearly empty.
    """

    name: str
    title: str
    after: str
    signs: tuple[str, ...]
    common: tuple[Notice, ...]
    steps: tuple[Step, ...]
    figures: str
    reader: str = "Bay"
    stop: str = STOP
    now: str = ""
    end: tuple[str, ...] = (CLOSE, HAND_OVER)
    spoken: tuple[Spoken, ...] = ()
    heads: tuple[str, str, str, str] = ("Look at", "If you find", "Do", "Fixed when")
    limits: str = LIMITS
    spacing: str = "normal"
