"""The loop of a drill: show, read a line, act, until it ends or is left."""

import sys
from collections.abc import Callable
from dataclasses import dataclass, field

from comeback.cli import drill_screens as screens
from comeback.cli import exit_codes
from comeback.cli.drill_search import search
from comeback.cli.look import Look, Styled, show
from comeback.cli.readers import Idle, Reader
from comeback.engine.drill import Drill, Mode
from comeback.kb.vocabulary import Disposition

MOST_SUSPECTS = 3
CONFIRMED = frozenset("y yes ok okay done go sure".split())  # noqa: SIM905
"""What people type to get past a warning without reading it."""
KINDS = ("check", "repair", "suspect", "cause")


@dataclass
class Drilling:
    """One sitting. `found` are entries listed last; `gate` is what waits for its cautions to be read."""

    drill: Drill
    reader: Reader
    look: Look
    quiet: bool = False
    found: list[tuple[str, str]] = field(default_factory=list)
    gate: tuple[str, str] | None = None
    read: set[str] = field(default_factory=set)

    def run(self) -> int:
        """Go on until the drill ends or is left. Returns an exit code."""
        if self.drill.mode is Mode.WATCH:
            return self._watch(len(self.drill.car.path))
        self._show(screens.start(self.drill, self.look))
        if self.drill.mode is Mode.COMPLETE and self._watch(len(self.drill.play())) != exit_codes.DONE:
            return exit_codes.PAUSED
        while not self.drill.ended:
            try:
                typed = self.reader.ask(self.drill.walk)
            except Idle:
                self._show(screens.review(self.drill, self.look))
                continue
            except EOFError:
                return exit_codes.PAUSED
            except KeyboardInterrupt:
                return exit_codes.INTERRUPTED
            if not self._respond(" ".join(typed.replace("\x00", "").split())[:400]):
                return exit_codes.PAUSED
        return exit_codes.DONE

    def _watch(self, count: int) -> int:
        """Show the program's first steps one after the other; at a terminal or pipe a line goes on to the next."""
        for number, step in enumerate(self.drill.car.path[:count], 1):
            self._show(screens.played(self.drill, number, step, self.look))
            if number < len(self.drill.car.path) and not self.pause():
                return exit_codes.PAUSED
        if self.drill.mode is Mode.COMPLETE:
            self._say("The program stops here. Go on by yourself.")
            self._show(screens.keys(self.drill, self.look))
        return exit_codes.DONE

    def pause(self, text: str = "Enter to go on, q to leave") -> bool:
        """Wait for Enter at a terminal; False if the trainee leaves."""
        if not self.reader.interactive:
            return True
        self._show([("faint", text)])
        try:
            return self.reader.ask(self.drill.walk).strip().lower() not in ("q", "quit", "exit")
        except Idle:
            return True
        except (EOFError, KeyboardInterrupt):
            return False

    def _respond(self, text: str) -> bool:
        """One reply; False to leave."""
        lower = text.lower()
        if lower in ("q", "quit", "exit"):
            return False
        if lower in ("?", "help"):
            self._show([("plain", line) for line in screens.HELP])
        elif lower in ("r", "review"):
            self._show(screens.review(self.drill, self.look))
        elif not text:
            self._say("Enter alone does nothing here. Type ? for help.")
        elif self.gate is not None:
            self._at_gate(lower)
        elif self.drill.signs_seen and self.drill.advice is None and lower != "signs":
            self._tell(lower)
        else:
            self._act(text, lower)
        return True

    def _at_gate(self, lower: str) -> None:
        assert self.gate is not None
        kind, name = self.gate
        title = screens.entry_name(self.drill, kind, name)[0]
        if lower == "safe":
            self.read |= set(self._cautions(kind, name))
            self.gate = None
            self._do(kind, name)
        elif lower in ("b", "back"):
            self.gate = None
            self._show(screens.keys(self.drill, self.look))
        elif lower in CONFIRMED:
            self.drill.stop(f"the cautions of '{title}' were confirmed without reading them")
        else:
            self._say(screens.GATE)

    def _tell(self, lower: str) -> None:
        if not lower.isdecimal() or not 1 <= int(lower[:3]) <= len(Disposition):
            self._say(f"Type a number from 1 to {len(Disposition)}: what the customer is told about driving.")
            return
        self.drill.tell(Disposition(int(lower) - 1))
        if not self.drill.ended:
            self._show(screens.keys(self.drill, self.look))

    def _act(self, text: str, lower: str) -> None:
        word, _, rest = lower.partition(" ")
        if lower == "signs":
            self._signs()
        elif lower in ("hand-over", "hand over", "handover"):
            self.drill.hand_over()
        elif lower == "hint":
            self._hint()
        elif lower.isdecimal():
            self._pick(int(lower[:4]))
        elif word in KINDS and rest:
            self._look_for(rest, (word,))
        elif word in KINDS:
            self._say(f"Type words behind it: {word} coolant hose")
        else:
            self._look_for(lower, ("check", "repair"))

    def _signs(self) -> None:
        seen = self.drill.signs_seen
        self._show(screens.signs(self.drill, self.drill.look_at_signs(), self.look))
        if not seen or self.drill.advice is None:
            self._show(screens.tell(self.drill, self.look))

    def _hint(self) -> None:
        if self.drill.mode is Mode.FREE:
            self._say("There are no hints in free mode.")
        else:
            self._say(self.drill.hint())

    def _look_for(self, words: str, kinds: tuple[str, ...]) -> None:
        """List entries, or take the one whose id was typed."""
        self.found, exact = search(self.drill, words, kinds)
        if exact:
            self._pick(1)
        elif self.found:
            named = [("cause" if kind == "suspect" else kind, name) for kind, name in self.found]
            self._show(screens.found(self.drill, named, self.look))
        else:
            self._say("Nothing here is called that. Try other words, or ? for help.")

    def _pick(self, number: int) -> None:
        if not 1 <= number <= len(self.found):
            self._say("There is no such number. Type words to find a check or a repair.")
            return
        kind, name = self.found[number - 1]
        self.found = []
        if kind == "suspect":
            self.drill.suspects = (*self.drill.suspects, name)[-MOST_SUSPECTS:]
            named = "; ".join(self.drill.knowledge.causes[c].name for c in self.drill.suspects)
            self._say(f"Suspects: {named}")
        elif kind == "cause":
            self.drill.name_cause(name)
            self._say(f"Noted as your conclusion: {self.drill.knowledge.causes[name].name}. Now repair it.")
        else:
            self._begin(kind, name)

    def _begin(self, kind: str, name: str) -> None:
        """The cautions first, if any of them has not been read in this drill."""
        if kind == "check" and not self.drill.makes_sense(name):
            self._say("That cannot be done on this car as it is now.")
            return
        names = self._cautions(kind, name)
        unread = [caution for caution in names if caution not in self.read]
        if unread and (self.drill.signs_seen or not self.drill.danger_checks()):
            self.gate = (kind, name)
            title = screens.entry_name(self.drill, kind, name)[0]
            self._show(screens.gate(self.drill, title, unread, self.look))
        else:
            self._do(kind, name)

    def _cautions(self, kind: str, name: str) -> list[str]:
        known = self.drill.knowledge
        if kind == "repair":
            return list(known.repairs[name].cautions)
        standing = self.drill.walk.situation.standing_set_ups()
        checks = [known.checks[check] for check in self.drill.group(name)]
        new = [s for check in checks for s in check.set_up if s not in standing]
        named = [c for s in new for c in known.set_ups[s].cautions] + [c for x in checks for c in x.cautions]
        return list(dict.fromkeys(named))

    def _do(self, kind: str, name: str) -> None:
        act: Callable[[str], object] = self.drill.check if kind == "check" else self.drill.repair
        before = len(self.drill.turns)
        act(name)
        if len(self.drill.turns) > before:
            self._show(screens.result(self.drill, self.drill.turns[-1], self.look))
        if not self.drill.ended:
            self._show(screens.keys(self.drill, self.look))

    def _show(self, lines: list[Styled]) -> None:
        if not self.quiet:
            show(lines, self.look, sys.stdout)

    def _say(self, text: str) -> None:
        self._show([("say", line) for line in self.look.wrap(text)])
