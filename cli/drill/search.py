"""What a trainee's words mean: checks, repairs and causes by name or id; and lines from a file."""

from collections.abc import Iterable, Iterator

from comeback.cli.text_files import read_text
from comeback.cli.words.search import rank
from comeback.engine.belief.network import fits
from comeback.engine.drill.drill import Drill
from comeback.engine.walk.walk import Walk

MOST_FOUND = 9


class LinesReader:
    """Lines from a file, one a line as it would be typed; blank lines and lines with # are left out."""

    interactive = False
    scripted = False

    def __init__(self, place: str) -> None:
        self._lines = (line for line in read_text(place).splitlines() if line.strip() and not line.startswith("#"))

    def ask(self, walk: Walk) -> str:
        """The next line."""
        for line in self._lines:
            return line
        raise EOFError


def search(drill: Drill, words: str, kinds: tuple[str, ...]) -> tuple[list[tuple[str, str]], bool]:
    """(kind, id) of what the words may mean, best first; only one, and True, if a kind's id was typed."""
    known, typed = drill.knowledge.checks, words.replace(" ", "-")
    if kinds == ("check",) and typed in known and known[typed].panel:
        return [("check", typed)], True
    entries = {f"{kind} {name}": phrases for kind in kinds for name, phrases in _entries(drill, kind)}
    exact = [key for key in entries if key.partition(" ")[2] == typed and len(kinds) == 1]
    ranked = exact or [key for key in rank(words, entries) if _near(words, entries[key])]
    found = [(kind, name) for kind, _, name in (key.partition(" ") for key in ranked[:MOST_FOUND])]
    return found, len(exact) == 1


def _entries(drill: Drill, kind: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    known, build = drill.knowledge, drill.vehicle
    if kind in ("suspect", "cause"):
        for cause in drill.walk.situation.network.causes:
            yield cause, (known.causes[cause].name, cause)
    elif kind == "repair":
        for repair in known.repairs.values():
            if fits(repair.only_if, build):
                yield repair.id, (repair.name, repair.id)
    else:
        panels: set[str] = set()
        for check in known.checks.values():
            if drill.audience not in check.audience or not fits(check.only_if, build) or check.panel in panels:
                continue
            if check.panel:
                panels.add(check.panel)
                yield check.id, (known.panels[check.panel].name, check.panel)
            else:
                yield check.id, (check.name, check.id, check.point)


def _near(words: str, phrases: Iterable[str]) -> bool:
    """True if a word of three letters or more begins like a word of a phrase, or the other way round."""
    asked = [word[:4] for word in words.replace("-", " ").split() if len(word) > 2]
    heard = [word for phrase in phrases for word in phrase.lower().replace("-", " ").split()]
    return any(word.startswith(start) for start in asked for word in heard)
