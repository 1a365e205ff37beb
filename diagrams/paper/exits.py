"""Exits of a step as drawn: the answer, and the end or the connector that it leads to."""

from dataclasses import dataclass

from comeback.diagrams.paper import phrases
from comeback.diagrams.paper.captions import Caption, wrapped
from comeback.diagrams.paper.measure import NORMAL


@dataclass(frozen=True)
class Connector:
    """One end of a jump. `letter` and `page` are empty on the same page; `steps` are at the other end."""

    text: str
    letter: str = ""
    page: int = 0
    steps: tuple[int, ...] = ()


@dataclass(frozen=True)
class Way:
    """An exit as drawn: its answer, and a copied end or a connector; neither if it flows to the next row."""

    answer: str
    target: int
    ending: Caption | None = None
    connector: Connector | None = None
    line: int = NORMAL.lines[1]

    @property
    def lines(self) -> list[str]:
        """The answer, wrapped."""
        return [line for part in self.parts for line in wrapped(part, self.line)] or [""]

    @property
    def parts(self) -> list[str]:
        """Each answer, and how it is looked for."""
        parts = self.answer.splitlines()
        if sum(1 for part in parts if not part.startswith(phrases.HOW)) > 1:
            return [part if part.startswith(phrases.HOW) else f"{phrases.BULLET}{part}" for part in parts]
        return parts
