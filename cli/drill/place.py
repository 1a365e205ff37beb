"""What a typed line of a drill means. Nothing is done here: line -> replies, by what is on the screen.

The words of the script go first (`AtCar`, `AtPhone`), then the keys of the real walk, then a search by words.
"""

from dataclasses import dataclass
from typing import Any, ClassVar

from comeback.cli.drill.search import Entry, search
from comeback.cli.drill.words import name_of
from comeback.cli.look import Look, Styled
from comeback.cli.numbers import number_in
from comeback.cli.prompt.registry import read_command
from comeback.cli.prompt.reply import Command, Record, Remark
from comeback.cli.screens.screens import step_cautions
from comeback.engine.drill import record
from comeback.engine.drill.drill import Drill
from comeback.engine.drill.miss import MissKind

KEYS = ("help", "why", "back", "review", "leave")
"""Commands of the real walk that work in a drill too."""
CONFIRMED = frozenset({"y", "yes", "ok", "okay", "done", "go", "sure"})
"""What people type to get past a warning without reading it."""
LONGEST = 400
EMPTY = "Enter alone does nothing here. Type ? for help."
NO_HINTS = "There are no hints in an exam."
NOT_HERE = "'{typed}' belongs to the real walk. Type ? for what works in a drill."
NOTHING_FOUND = "Nothing here is called that. Try other words, or ? for help."
NO_NUMBER = "That number is not listed. Type words to find a check or a repair."
GATE = "Type  safe  when you have read it and made it so.   w why   b back"
SLIPPED = (
    "'{typed}' does not pass these cautions; they protect you and others. Read them and type  safe , or  b . "
    "Once more '{typed}' and the drill is stopped."
)


@dataclass(frozen=True)
class View:
    """What is on the screen: entries listed, the one `chosen` whose cautions wait to be read.

    `slipped`: they were confirmed unread once. `telling`: the list of advice is open.
    """

    found: tuple[Entry, ...] = ()
    chosen: Entry | None = None
    slipped: bool = False
    telling: bool = False


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


@dataclass
class Place:
    """Where a drill happens, at the car or at the phone: its script, and what it shows."""

    drill: Drill
    look: Look

    kinds: ClassVar[tuple[str, ...]]

    def help(self) -> tuple[str, ...]:
        """What can be typed."""
        raise NotImplementedError

    def start(self, name: str) -> list[Styled]:
        """The first screen."""
        raise NotImplementedError

    def review(self) -> list[Styled]:
        """What is known so far."""
        raise NotImplementedError

    def asks(self, view: View) -> list[Styled]:
        """The question that is open, else the line of keys."""
        raise NotImplementedError

    def script(self, view: View, lower: str) -> Reply | None:
        """The reply if the line answers an open question or is of the script; else None."""
        raise NotImplementedError

    def came(self, done: Record, came: Any, view: View) -> list[Styled]:
        """What came of something that was done."""
        raise NotImplementedError

    def unread(self, entry: Entry) -> list[str]:
        """Cautions of an entry that were not read in this drill; those of the step in the real walk."""
        walk = self.drill.walk
        names = dict.fromkeys(step_cautions(walk.with_step(self.drill.as_step(*entry))))
        return [name for name in names if name not in self.drill.read]


def read_line(place: Place, view: View, typed: str) -> tuple[Reply, ...]:
    """The replies that a line means, in order."""
    text = " ".join(typed.replace("\x00", "").split())[:LONGEST]
    lower, drill = text.lower(), place.drill
    if not text:
        return (Remark(EMPTY),)
    key = read_command(text)
    if lower == "hint" or (key is not None and key.name == "why"):
        level = {} if lower == "hint" else {"level": 2 if view.chosen else 3}
        return (Record(record.HINTED, level) if drill.mode.hints else Remark(NO_HINTS),)
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
        return choose(place, view.found[number - 1]) if number else (Remark(NO_NUMBER),)
    return _search(place, key.text.lower() if key else lower)


def _search(place: Place, lower: str) -> tuple[Reply, ...]:
    """Words, or `check WORDS` and `repair WORDS`; what was typed by its id is taken at once."""
    word, _, rest = lower.partition(" ")
    kinds = (word,) if word in place.kinds and rest else place.kinds
    found, exact = search(place.drill, rest if kinds == (word,) else lower, kinds)
    if exact:
        return choose(place, found[0])
    return (Listing(found),)


def choose(place: Place, entry: Entry) -> tuple[Reply, ...]:
    """Do what was chosen; its cautions first, if any of them has not been read in this drill."""
    drill = place.drill
    if entry[0] == "check" and not drill.makes_sense(entry[1]):
        return (Remark("That cannot be done on this car as it is now."),)
    signs_first = not drill.signs_seen and drill.danger_checks()
    return (Gate(entry) if place.unread(entry) and not signs_first else _doing(entry),)


def _doing(entry: Entry) -> Record:
    kind, name = entry
    return Record(record.CHECKED if kind == "check" else record.REPAIRED, {kind: name})


def _at_gate(place: Place, entry: Entry, slipped: bool, lower: str) -> tuple[Reply, ...]:
    cautions = place.unread(entry)
    if lower == "safe":
        return Record(record.READ, {"cautions": cautions}), _doing(entry)
    if lower not in CONFIRMED:
        return (Remark(GATE),)
    if not slipped:
        return (Gate(entry, lower),)
    miss = f"the cautions of '{name_of(place.drill.knowledge, *entry)}' were confirmed without reading them"
    return (Record(record.STOPPED, {"miss": miss, "hazard": MissKind.UNREAD.value, "cautions": cautions}),)
