"""The one loop of a drill, at the car and at the phone: read a line, do what it means, show what came of it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from comeback.cli import exit_codes
from comeback.cli.drill.at_car import AtCar, Entry, View
from comeback.cli.drill.typed import GATE, Gate, Listing, Reply, read_line
from comeback.cli.drill.words import MOST_LINES, minutes, name_of
from comeback.cli.look import Look, Styled, show
from comeback.cli.prompt.reply import Command, Record, Remark
from comeback.cli.readers import Idle, Reader
from comeback.cli.screens.cautions import cautions
from comeback.engine.drill import record
from comeback.engine.walk.walk import Walk

NOTHING_FOUND = "Nothing here is called that. Try other words, or ? for help."
SLIPPED = (
    "'{typed}' does not pass these cautions; they protect you and others. Read them and type  safe , or  b . "
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

    def run(self) -> int:
        """Go on until the drill ends or is left. Returns an exit code."""
        self.show(self.first())
        while not self.place.drill.ended:
            try:
                typed = self.reader.ask(self.place.drill.walk)
            except Idle:
                self.show([*self.place.review(), *self.place.asks(self.view)])
                continue
            except EOFError:
                return exit_codes.PAUSED
            except KeyboardInterrupt:
                return exit_codes.INTERRUPTED
            replies = read_line(self.place, self.view, typed)
            if replies == (Command("leave"),):
                return exit_codes.PAUSED
            self.follow(replies)
        return exit_codes.DONE

    def first(self) -> list[Styled]:
        """The order; of a continued drill also as much of what is known as there is room for, and what is asked."""
        start, asked = self.place.start(self.name), self.place.asks(self.view)
        room = max(4, MOST_LINES - len(start) - len(asked))
        return [*start, *(self.place.review()[-room:] if self.begun else ()), *asked]

    def follow(self, replies: tuple[Reply, ...]) -> None:
        """Do what the replies say, show what came of it, and what is asked next."""
        shown: list[Styled] = []
        for reply in replies:
            lines, self.view = self._after(reply)
            shown += lines
        if isinstance(replies[-1], Record) and not self.view.chosen and not self.place.drill.ended:
            shown += self.place.asks(self.view)
        self.show(shown)

    def _after(self, reply: Reply) -> tuple[list[Styled], View]:
        """One reply: the lines to show and what is on the screen then."""
        place, view = self.place, self.view
        match reply:
            case Remark(text):
                return _said(text, place.look), view
            case Record(kind, data):
                came = record.act(place.drill, kind, data)
                self.keep(kind, data)
                return place.came(reply, came, view), view if kind == record.HINTED else View()
            case Listing(found):
                return listing_lines(place, found), View(found)
            case Gate(entry, ""):
                return gate_lines(place, entry), replace(view, chosen=entry)
            case Gate(slipped=slipped):
                return _said(SLIPPED.format(typed=slipped), place.look), replace(view, slipped=True)
            case Command("help"):
                return [("plain", line) for line in place.help()], view
            case Command("review"):
                return place.review(), view
        asked = View(telling=reply.name == "advice")  # "back", out of a list or cautions: what was done stays done
        return place.asks(asked), asked

    def show(self, lines: list[Styled]) -> None:
        """Print lines."""
        if lines:
            show(lines, self.place.look)


def _said(text: str, look: Look) -> list[Styled]:
    return look.styled("say", text)


def listing_lines(place: AtCar, found: tuple[Entry, ...], priced: bool = True) -> list[Styled]:
    """Entries with their numbers; at the car with what each takes and which run the engine, where there is room."""
    if not found:
        return _said(NOTHING_FOUND, place.look)
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


def pause(reader: Reader, look: Look, walk: Walk) -> bool:
    """At a terminal wait for Enter; False if the learner leaves."""
    if not reader.interactive:
        return True
    show([("faint", "Enter to go on, q to leave")], look)
    try:
        return reader.ask(walk).strip().lower() not in ("q", "quit", "exit")
    except Idle:
        return True
    except (EOFError, KeyboardInterrupt):
        return False
