"""What a learner's words mean: checks and repairs by name or id."""

from collections.abc import Iterator

from comeback.cli.drill.at_car import Entry
from comeback.cli.words.search import rank
from comeback.engine.belief.network import fits
from comeback.engine.drill.drill import Drill

MOST_FOUND = 9


def search(drill: Drill, words: str, kinds: tuple[str, ...]) -> tuple[tuple[Entry, ...], bool]:
    """Entries that the words may mean, best first; only one, and True, if `kinds` is one kind and its id was typed."""
    known, typed = drill.knowledge.checks, words.replace(" ", "-")
    if kinds == ("check",) and typed in known and known[typed].panel:
        return (("check", typed),), True
    entries = {f"{kind} {name}": phrases for kind in kinds for name, phrases in _phrases(drill, kind)}
    exact = [key for key in entries if key.partition(" ")[2] == typed and len(kinds) == 1]
    ranked = exact or [key for key in rank(words, entries) if _near(words, entries[key])]
    return tuple((kind, name) for kind, _, name in (key.partition(" ") for key in ranked[:MOST_FOUND])), bool(exact)


def _phrases(drill: Drill, kind: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Ids with the phrases that mean them, of what fits this car and can be asked here; one check of each panel."""
    known, build = drill.knowledge, drill.walk.case.vehicle
    if kind == "repair":
        yield from ((x.id, (x.name, x.id)) for x in known.repairs.values() if fits(x.only_if, build))
        return
    panels: set[str] = set()
    for check in known.checks.values():
        if drill.audience not in check.audience or not fits(check.only_if, build) or check.panel in panels:
            continue
        if check.panel:
            panels.add(check.panel)
            yield check.id, (known.panels[check.panel].name, check.panel)
        else:
            yield check.id, (check.name, check.id, check.point)


def _near(words: str, phrases: tuple[str, ...]) -> bool:
    """True if a word of three letters or more begins like a word of a phrase."""
    asked = [word[:4] for word in words.replace("-", " ").split() if len(word) > 2]
    heard = " ".join(phrases).lower().replace("-", " ").split()
    return any(word.startswith(start) for start in asked for word in heard)
