"""What a typed line of a drill means. Nothing is done here: line -> replies, by what is on the screen.

The words of the script go first (`AtCar`, `AtPhone`), then the keys of the real walk, then a search by words.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from comeback.cli.drill.at_car import AtCar, Entry, View
from comeback.cli.drill.words import name_of
from comeback.cli.numbers import number_in
from comeback.cli.prompt.registry import read_command
from comeback.cli.prompt.reply import Command, Record, Remark
from comeback.cli.words.search import rank
from comeback.engine.belief.network import fits
from comeback.engine.drill import record
from comeback.engine.drill.drill import Drill
from comeback.engine.drill.safety import MissKind

KEYS = ("help", "why", "back", "review", "leave")
"""Commands of the real walk that work in a drill too."""
CONFIRMED = frozenset({"y", "yes", "ok", "okay", "done", "go", "sure"})
"""What people type to get past a warning without reading it."""
LONGEST, MOST_FOUND = 400, 9
EMPTY = "Enter alone does nothing here. Type ? for help."
NO_HINTS = "There are no hints in an exam."
NOT_HERE = "'{typed}' belongs to the real walk. Type ? for what works in a drill."
NO_NUMBER = "That number is not listed. Type words to find a check or a repair."
GATE = "Type  safe  when you have read it and made it so.   w why   b back"


@dataclass(frozen=True)
class Listing:
    """Entries to choose from; with none of them the list before is gone too."""

    found: tuple[Entry, ...]


@dataclass(frozen=True)
class Gate:
    """The cautions of an entry are to be read before it is done; `slipped`: they were confirmed unread."""

    entry: Entry
    slipped: str = ""


Reply = Command | Remark | Record | Listing | Gate


def read_line(place: AtCar, view: View, typed: str) -> tuple[Reply, ...]:
    """The replies that a line means, in order."""
    text = " ".join(typed.replace("\x00", "").split())[:LONGEST]
    lower, drill = text.lower(), place.drill
    if not text:
        return (Remark(EMPTY),)
    key = read_command(text)
    if lower == "hint" or (key is not None and key.name == "why"):
        return (Record(record.HINTED) if drill.mode.hints else Remark(NO_HINTS),)
    if key is not None and key.name in KEYS:
        return (key,)
    if view.chosen is not None:
        return _at_gate(place, view.chosen, view.slipped, lower)
    spoken = place.script(view, lower)
    if spoken is not None:
        return (spoken,)
    if key is not None and key.name != "find":
        return (Remark(NOT_HERE.format(typed=text[:40])),)
    if lower.isdecimal():
        number = number_in(lower, len(view.found))
        return _choose(place, view.found[number - 1]) if number else (Remark(NO_NUMBER),)
    lower = key.text.lower() if key else lower
    word, _, rest = lower.partition(" ")
    kinds, wanted = ((word,), rest) if word in place.kinds and rest else (place.kinds, lower)
    found, exact = _search(drill, wanted, kinds)
    return _choose(place, found[0]) if exact else (Listing(found),)


def _choose(place: AtCar, entry: Entry) -> tuple[Reply, ...]:
    """Do what was chosen; its cautions first, if any of them has not been read in this drill."""
    drill = place.drill
    if entry[0] == "check" and not drill.makes_sense(entry[1]):
        return (Remark("That cannot be done on this car as it is now."),)
    signs_first = not drill.signs_seen and drill.danger_checks()
    return (Gate(entry) if place.unread(entry) and not signs_first else _doing(entry),)


def _doing(entry: Entry) -> Record:
    kind, name = entry
    return Record(record.CHECKED if kind == "check" else record.REPAIRED, {kind: name})


def _at_gate(place: AtCar, entry: Entry, slipped: bool, lower: str) -> tuple[Reply, ...]:
    cautions = place.unread(entry)
    if lower == "safe":
        return Record(record.READ, {"cautions": cautions}), _doing(entry)
    if lower not in CONFIRMED:
        return (Remark(GATE),)
    if not slipped:
        return (Gate(entry, lower),)
    miss = f"the cautions of '{name_of(place.drill.knowledge, *entry)}' were confirmed without reading them"
    return (Record(record.STOPPED, {"miss": miss, "hazard": MissKind.UNREAD.value, "cautions": cautions}),)


def _search(drill: Drill, words: str, kinds: tuple[str, ...]) -> tuple[tuple[Entry, ...], bool]:
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
