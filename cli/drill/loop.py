"""The one loop of a drill, at the car and at the phone: read a line, do what it means, show what came of it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from comeback.cli import exit_codes
from comeback.cli.drill.at_car import AtCar, Entry, View, search
from comeback.cli.drill.words import MOST_LINES, minutes, name_of
from comeback.cli.look import Styled, show
from comeback.cli.numbers import number_in
from comeback.cli.prompt.registry import read_command
from comeback.cli.prompt.reply import Command, Remark
from comeback.cli.readers import Idle, Reader
from comeback.cli.screens.cautions import cautions
from comeback.engine.drill import record
from comeback.engine.drill.safety import MissKind

CONFIRMED = frozenset({"y", "yes", "ok", "okay", "done", "go", "sure"})
"""What people type to get past a warning without reading it."""
LONGEST = 400
EMPTY = "Enter alone does nothing here. Type ? for help."
NO_HINTS = "There are no hints in an exam."
NO_NUMBER = "That number is not listed. Type words to find a check or a repair."
GATE = "Type  safe  when you have read it and done it.   w why   b back"
SLIPPED = (
    "'{typed}' does not get you past these cautions; they protect you and others. Read them and type  safe , or  b . "
    "Once more '{typed}' and the drill is stopped."
)


@dataclass
class Drilling:
    """One sitting. `keep` writes down what was done, before its result shows; `name` is shown at the start.

    `begun`: it was continued, so that what is known shows first.
    """

    place: AtCar
    reader: Reader
    keep: Callable[[str, Mapping[str, Any]], None] = lambda kind, data: None
    name: str = ""
    begun: bool = False
    view: View = field(default_factory=View)
    left: bool = False

    def run(self) -> int:
        """Go on until the drill ends or is left. Returns an exit code."""
        shown = self.first()
        while not self.left:
            if shown:
                show(shown, self.place.look)
            if self.place.drill.ended:
                return exit_codes.DONE
            try:
                typed = self.reader.ask(self.place.drill.walk)
            except Idle:
                shown = [*self.place.review(), *self.place.asks(self.view)]
                continue
            except EOFError:
                return exit_codes.PAUSED
            except KeyboardInterrupt:
                return exit_codes.INTERRUPTED
            shown = self.answer(typed)
        return exit_codes.PAUSED

    def first(self) -> list[Styled]:
        """The order; of a continued drill also as much of what is known as there is room for, and what is asked."""
        start, asked = self.place.start(self.name), self.place.asks(self.view)
        room = max(4, MOST_LINES - len(start) - len(asked))
        return [*start, *(self.place.review()[-room:] if self.begun else ()), *asked]

    def answer(self, typed: str) -> list[Styled]:
        """Do what a line means, by what is on the screen; the lines to show.

        The keys of the real walk go first, then the cautions on the screen, then the words of the script, then a
        search by words.
        """
        text = " ".join(typed.replace("\x00", "").split())[:LONGEST]
        lower, place, view = text.lower(), self.place, self.view
        if not text:
            return self._say(EMPTY)
        key = read_command(text)
        name = "why" if lower == "hint" else key.name if key is not None else "find"
        if name == "why":
            return self._do(record.Act(record.HINTED)) if place.drill.mode.hints else self._say(NO_HINTS)
        self.left = name == "leave"
        if self.left:
            return []
        if name == "help":
            return [("plain", line) for line in place.help()]
        if name == "review":
            return place.review()
        if name == "back":  # out of a list or cautions; what was done stays done
            return self._ask(View())
        if view.chosen is not None:
            return self._at_gate(view.chosen, lower)
        match place.script(view, lower):
            case record.Act() as spoken:
                return self._do(spoken)
            case Remark(remark):
                return self._say(remark)
            case Command():
                return self._ask(View(telling=True))
        if name != "find":
            return self._say(f"'{text[:40]}' belongs to the real walk. Type ? for what works in a drill.")
        if lower.isdecimal():
            number = number_in(lower, len(view.found))
            return self._choose(view.found[number - 1]) if number else self._say(NO_NUMBER)
        return self._find(key.text.lower() if key else lower)

    def _say(self, text: str) -> list[Styled]:
        return self.place.look.styled("say", text)

    def _ask(self, view: View) -> list[Styled]:
        self.view = view
        return self.place.asks(view)

    def _do(self, *done: record.Act) -> list[Styled]:
        """Do it, write it down, and show what came of it and what is asked next; a hint leaves the screen as it is."""
        place, shown = self.place, []
        for one in done:
            came = record.act(place.drill, one.kind, one.payload)
            self.keep(one.kind, one.payload)
            shown += place.came(one, came, self.view)
            self.view = self.view if one.kind == record.HINTED else View()
        return [*shown, *(() if self.view.chosen or place.drill.ended else place.asks(self.view))]

    def _find(self, lower: str) -> list[Styled]:
        """Words, or `check WORDS` and `repair WORDS`; what was typed by its id is taken at once."""
        word, _, rest = lower.partition(" ")
        kinds, wanted = ((word,), rest) if word in self.place.kinds and rest else (self.place.kinds, lower)
        found, exact = search(self.place.drill, wanted, kinds)
        if exact:
            return self._choose(found[0])
        self.view = View(found)
        return listing_lines(self.place, found)

    def _choose(self, entry: Entry) -> list[Styled]:
        """Do what was chosen; its cautions first, if any of them has not been read in this drill."""
        drill = self.place.drill
        if entry[0] == "check" and not drill.makes_sense(entry[1]):
            return self._say("That cannot be done on this car as it is now.")
        signs_first = not drill.signs_seen and drill.danger_checks()
        if self.place.unread(entry) and not signs_first:
            self.view = replace(self.view, chosen=entry)
            return gate_lines(self.place, entry)
        return self._do(_doing(entry))

    def _at_gate(self, entry: Entry, lower: str) -> list[Styled]:
        """The cautions on the screen are read, or confirmed unread, which stops the drill the second time."""
        unread = self.place.unread(entry)
        if lower == "safe":
            return self._do(record.Act(record.READ, {"cautions": unread}), _doing(entry))
        if lower not in CONFIRMED:
            return self._say(GATE)
        if not self.view.slipped:
            self.view = replace(self.view, slipped=True)
            return self._say(SLIPPED.format(typed=lower))
        miss = f"the cautions for '{name_of(self.place.drill.knowledge, *entry)}' were confirmed without reading them"
        stopped = {"miss": miss, "hazard": MissKind.UNREAD.value, "cautions": unread}
        return self._do(record.Act(record.STOPPED, stopped))


def _doing(entry: Entry) -> record.Act:
    """The record of a check or repair that was made."""
    kind, name = entry
    return record.Act(record.CHECKED if kind == "check" else record.REPAIRED, {kind: name})


def listing_lines(place: AtCar, found: tuple[Entry, ...], priced: bool = True) -> list[Styled]:
    """Entries with their numbers; at the car with what each takes and which run the engine, where there is room."""
    if not found:
        return place.look.styled("say", "Nothing here is called that. Try other words, or ? for help.")
    drill, lines = place.drill, []
    at_car = len(place.kinds) > 1
    for number, (kind, name) in enumerate(found, 1):
        text, lead = name_of(drill.knowledge, kind, name), f"   {number}   "
        if at_car:
            lead += f"{kind:7}"
            about = f"about {minutes(drill.as_step(kind, name).minutes)} min"
            text += f"  ({about}{' with parts and proof' * (kind == 'repair')})" * priced
            text += "  engine running" * drill.runs_engine(kind, name)
        lines += place.look.styled("plain", text, len(lead), lead)
    if len(lines) >= MOST_LINES and priced:
        return listing_lines(place, found, priced=False)
    return [*lines, ("faint", "type a number, or other words")]


def gate_lines(place: AtCar, entry: Entry) -> list[Styled]:
    """Cautions on a screen of their own: every signal word and command, the reasons as far as there is room."""
    title, names = name_of(place.drill.knowledge, *entry), place.unread(entry)
    head: list[Styled] = place.look.styled("title", f"Read this first: {title}")
    warned = list(cautions(place.drill.walk, names, place.look))
    if len(warned) + len(head) + 1 > MOST_LINES:
        warned = list(cautions(place.drill.walk, names, place.look, short=True))
    return [*head, *warned, ("faint", GATE)]
