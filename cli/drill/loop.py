"""The loop of a drill at the car: show, read a line, act, record, until it ends or is left."""

import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from comeback.cli import exit_codes
from comeback.cli.drill import before as drill_before
from comeback.cli.drill import screens
from comeback.cli.drill import story as drill_story
from comeback.cli.drill.before import Before
from comeback.cli.drill.search import search
from comeback.cli.look import Look, Styled, show
from comeback.cli.prompt.readers import Idle, Reader
from comeback.cli.words.numbers import number_in
from comeback.engine.drill import record
from comeback.engine.drill.drill import MOST_SUSPECTS, Drill, Mode
from comeback.engine.drill.miss import Hazard
from comeback.kb.vocabulary import Disposition

CONFIRMED = frozenset("y yes ok okay done go sure".split())  # noqa: SIM905
"""What people type to get past a warning without reading it."""
KINDS = ("check", "repair", "suspect", "cause")
LEAVE = ("q", "quit", "exit")


def _nowhere(kind: str, data: dict[str, Any]) -> None:
    """A drill that is recorded nowhere."""


@dataclass
class Drilling:
    """One sitting. `found` are entries listed last; `gate` is what waits for its cautions to be read, `warned`
    once these were passed over.

    `before` is a check that waits for a suspect to be named; `asks` is off once the trainee switched that off.
    `keep` writes down what was done; it is called before its result shows. `name` is shown at the start.
    """

    drill: Drill
    reader: Reader
    look: Look
    quiet: bool = False
    keep: Callable[[str, dict[str, Any]], None] = _nowhere
    name: str = ""
    begun: bool = False
    found: list[tuple[str, str]] = field(default_factory=list)
    gate: tuple[str, str] | None = None
    warned: bool = False
    before: Before | None = None
    asks: bool = True

    def run(self) -> int:
        """Go on until the drill ends or is left. Returns an exit code."""
        if self.drill.mode is Mode.WATCH:
            return exit_codes.DONE if self._watch(drill_story.whole(self.drill, self.look)) else exit_codes.PAUSED
        self._show(self.start())
        if self.drill.mode is Mode.COMPLETE and not self.begun:
            if not self._complete():
                return exit_codes.PAUSED
        elif self.begun:
            self._show(self.pending())
        while not self.drill.ended:
            try:
                typed = self.reader.ask(self.drill.walk)
            except Idle:
                self._show(self.review())
                continue
            except EOFError:
                return exit_codes.PAUSED
            except KeyboardInterrupt:
                return exit_codes.INTERRUPTED
            if not self._respond(" ".join(typed.replace("\x00", "").split())[:400]):
                return exit_codes.PAUSED
        return exit_codes.DONE

    def start(self) -> list[Styled]:
        """The first screen."""
        return screens.start(self.drill, self.look, self.name)

    def review(self) -> list[Styled]:
        """What is known so far."""
        return screens.review(self.drill, self.look)

    def pending(self) -> list[Styled]:
        """What a drill that goes on shows first: what is known, and the question it was left at."""
        asked = screens.tell(self.drill, self.look) if self._untold() else self._keys()
        room = max(4, screens.MOST_LINES - len(self.start()) - len(asked))
        return [*self.review()[-room:], *asked]

    def do(self, kind: str, **data: Any) -> Any:
        """Act, and write it down before anybody sees what came of it."""
        came = record.act(self.drill, kind, data)
        self.keep(kind, data)
        return came

    def _watch(self, told: list[list[Styled]]) -> bool:
        """Screen after screen; at a terminal a line goes on to the next. False if the trainee leaves."""
        for number, screen in enumerate(told, 1):
            self._show(screen)
            if number < len(told) and not self.pause():
                return False
        return True

    def _complete(self) -> bool:
        """Show what the program did before it stops and the trainee goes on; False if he leaves."""
        told = drill_story.played(self.drill, self.drill.played, self.look)
        if told and not (self.pause() and self._watch(told)):
            return False
        self._say("The program stops here. Go on by yourself.")
        self._show(self._keys())
        return True

    def pause(self, text: str = "Enter to go on, q to leave") -> bool:
        """Wait for Enter at a terminal; False if the trainee leaves."""
        if not self.reader.interactive:
            return True
        self._show([("faint", text)])
        try:
            return self.reader.ask(self.drill.walk).strip().lower() not in LEAVE
        except Idle:
            return True
        except (EOFError, KeyboardInterrupt):
            return False

    def _respond(self, text: str) -> bool:
        """One reply; False to leave."""
        lower = text.lower()
        if lower in LEAVE:
            return False
        if lower in ("?", "help"):
            self._show([("plain", line) for line in self.help()])
        elif lower in ("r", "review"):
            self._show(self.review())
        elif self.before is not None:
            self._name_suspect(text)
        elif not text:
            self._say("Enter alone does nothing here. Type ? for help.")
        elif self.gate is not None:
            self._at_gate(lower)
        elif not self._answered(lower):
            self._act(lower)
        return True

    def _keys(self) -> list[Styled]:
        return screens.keys(self.drill, self.look)

    def help(self) -> tuple[str, ...]:
        """What can be typed."""
        return screens.HELP

    def _untold(self) -> bool:
        return self.drill.signs_seen and self.drill.advice is None

    def _answered(self, lower: str) -> bool:
        """True if a question stood open and this was taken as its answer."""
        if not self._untold() or lower == "signs":
            return False
        self._tell(lower)
        return True

    def _at_gate(self, lower: str) -> None:
        assert self.gate is not None
        kind, name = self.gate
        title = screens.entry_name(self.drill, kind, name)[0]
        if lower == "safe":
            self.do(record.READ, cautions=self._cautions(kind, name))
            self.gate = None
            self._ask_before(kind, name)
        elif lower in ("b", "back"):
            self.gate = None
            self._show(self._keys())
        elif lower in CONFIRMED and not self.warned:
            self.warned = True
            self._say(screens.SLIPPED.format(typed=lower))
        elif lower in CONFIRMED:
            miss = f"the cautions of '{title}' were confirmed without reading them"
            self.do(record.STOPPED, miss=miss, hazard=Hazard.UNREAD.value, cautions=self._cautions(kind, name))
        else:
            self._say(screens.GATE)

    def _tell(self, lower: str) -> None:
        number = number_in(lower, len(Disposition))
        if number is None:
            self._say(f"Type a number from 1 to {len(Disposition)}: what the customer is told about driving.")
            return
        self.do(record.TOLD, advice=Disposition(number - 1).word)
        if not self.drill.ended:
            self._after_advice()

    def _after_advice(self) -> None:
        self._show(self._keys())

    def _act(self, lower: str) -> None:
        word, _, rest = lower.partition(" ")
        if lower == "signs":
            self._signs()
        elif lower in ("hand-over", "hand over", "handover"):
            self.do(record.HANDED_OVER)
        elif lower == "hint":
            self._hint()
        elif lower.isdecimal():
            self._pick(lower)
        elif word in KINDS and rest:
            self._look_for(rest, (word,))
        elif word in KINDS:
            self._say(f"Type words behind it: {word} coolant hose")
        else:
            self._look_for(lower, ("check", "repair"))

    def _signs(self) -> None:
        results = self.drill.look_at_signs() if self.drill.signs_seen else self.do(record.SIGNS)
        self._show(screens.signs(self.drill, results, self.look))
        if self.drill.advice is None:
            self._show(screens.tell(self.drill, self.look))

    def _hint(self) -> None:
        if not self.drill.mode.hints:
            self._say(f"There are no hints in {self.drill.mode.value} mode.")
        else:
            self._show(screens.hint(self.drill, self.do(record.HINTED), self.look))

    def _look_for(self, words: str, kinds: tuple[str, ...]) -> None:
        """List entries, or take the one whose id was typed."""
        self.found, exact = search(self.drill, words, kinds)
        if exact:
            self._pick("1")
        elif self.found:
            named = [("cause" if kind == "suspect" else kind, name) for kind, name in self.found]
            self._show(screens.found(self.drill, named, self.look))
        else:
            self._say("Nothing here is called that. Try other words, or ? for help.")

    def _pick(self, typed: str) -> None:
        number = number_in(typed, len(self.found))
        if number is None:
            self._say("There is no such number. Type words to find a check or a repair.")
            return
        kind, name = self.found[number - 1]
        self.found = []
        if kind == "suspect":
            self.do(record.SUSPECTED, causes=list((*self.drill.suspects, name)[-MOST_SUSPECTS:]))
            named = "; ".join(self.drill.knowledge.causes[c].name for c in self.drill.suspects)
            self._say(f"Suspects: {named}")
        elif kind == "cause":
            self.do(record.NAMED, cause=name)
            self._say(f"Noted as your conclusion: {self.drill.knowledge.causes[name].name}.")
        else:
            self._begin(kind, name)

    def _begin(self, kind: str, name: str) -> None:
        """The cautions first, if any of them has not been read in this drill."""
        if kind == "check" and not self.drill.makes_sense(name):
            self._say("That cannot be done on this car as it is now.")
            return
        names = self._cautions(kind, name)
        unread = [caution for caution in names if caution not in self.drill.read]
        if unread and (self.drill.signs_seen or not self.drill.danger_checks()):
            self.gate, self.warned = (kind, name), False
            title = screens.entry_name(self.drill, kind, name)[0]
            self._show(screens.gate(self.drill, title, unread, self.look))
        else:
            self._ask_before(kind, name)

    def _cautions(self, kind: str, name: str) -> list[str]:
        known = self.drill.knowledge
        if kind == "repair":
            return list(known.repairs[name].cautions)
        standing = self.drill.walk.situation.standing_set_ups()
        checks = [known.checks[check] for check in self.drill.group(name)]
        new = [s for check in checks for s in check.set_up if s not in standing]
        named = [c for s in new for c in known.set_ups[s].cautions] + [c for x in checks for c in x.cautions]
        return list(dict.fromkeys(named))

    def _ask_before(self, kind: str, name: str) -> None:
        """Before a check the trainee may say whom he suspects and what he expects; then it is made."""
        wanted = kind == "check" and self.asks and self.reader is not None and self.reader.interactive
        if wanted and self.drill.signs_seen and self.drill.mode is not Mode.EXAM:
            self.before = Before(name, suspect=not self.drill.suspects)
            self._show(drill_before.screen(self.drill, self.before, self.look))
        else:
            self._make(kind, name)

    def _name_suspect(self, text: str) -> None:
        assert self.before is not None
        said = drill_before.respond(self.drill, self.before, text)
        for kind, data in said.acts:
            self.do(kind, **data)
        self.asks &= not said.off
        if said.remark:
            self._say(said.remark)
        if said.done:
            name, self.before = self.before.check, None
            self._make("check", name)
        else:
            self._show(drill_before.screen(self.drill, self.before, self.look))

    def _make(self, kind: str, name: str) -> None:
        before = len(self.drill.turns)
        if kind == "check":
            self.do(record.CHECKED, check=name)
        else:
            self.do(record.REPAIRED, repair=name)
        if len(self.drill.turns) > before:
            self._show(self.result())
        if not self.drill.ended:
            self._show(self._keys())

    def result(self) -> list[Styled]:
        """What the last turn showed."""
        return screens.result(self.drill, self.drill.turns[-1], self.look)

    def _show(self, lines: list[Styled]) -> None:
        if not self.quiet:
            show(lines, self.look, sys.stdout)

    def _say(self, text: str) -> None:
        self._show([("say", line) for line in self.look.wrap(text)])
