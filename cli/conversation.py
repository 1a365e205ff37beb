"""The loop of a walk at a keyboard: show the step, read a reply, record it, and only then go on.

A case is opened with the first reply, and every reply is committed before the next step shows.
"""

import secrets
import sys
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from comeback.cli import exit_codes, places, screens, wording
from comeback.cli.look import Look, Styled, show
from comeback.cli.readers import Reader
from comeback.cli.replies import Command, Record, Remark, Words, read_reply
from comeback.cli.search import rank
from comeback.engine import case as events
from comeback.engine import steps
from comeback.engine.case import Draft
from comeback.engine.walk import Walk
from comeback.kb.vocabulary import Audience

MOST_MATCHES = 9
SCREEN_LINES = 23  # of 24: the last is for the answer
FOOT_LINES = 2


@dataclass
class Conversation:
    """One sitting: the walk so far, where answers come from, where it is recorded, who answers."""

    walk: Walk
    reader: Reader
    look: Look
    log: "LogOpener"
    by: str
    car: str = ""
    quiet: bool = False
    found: list[str] = field(default_factory=list)
    words: str = ""
    _warned: bool = False
    _gate: bool = False
    _passed: bool = False

    def run(self) -> int:
        """Go on until the walk ends or is left. Returns an exit code."""
        self._show_screen()
        if self.reader.interactive:  # the log's library loads while the first question is read
            threading.Thread(target=self.log.prepare, daemon=True).start()
        while not isinstance(self.walk.step, steps.Finished):
            try:
                typed = self.reader.ask(self.walk)
            except EOFError:
                return self._leave(exit_codes.PAUSED)
            except KeyboardInterrupt:
                if self._warned or not self.reader.interactive:
                    return self._leave(exit_codes.INTERRUPTED)
                self._warned = True
                self._say(wording.AGAIN)
                continue
            self._warned = False
            if self._respond(typed) == "leave":
                return self._leave(exit_codes.PAUSED)
        return exit_codes.DONE

    def _respond(self, typed: str) -> str | None:
        if self._gate and typed.strip().lower() == wording.GATE_WORD:
            self._pass_gate()
            return None
        reply = read_reply(self.walk, typed, self.found, screens.hint(self.walk))
        match reply:
            case Record() | Words() | Remark() if self._gate:
                self._show([("faint", wording.GATE_HINT)])
            case Remark(text):
                self._say(text)
            case Command("leave"):
                return "leave"
            case Command(name, text):
                self._command(name, text)
            case Words(text):
                self._match(text)
            case Record():
                self._record(reply)
        return None

    def _match(self, text: str) -> None:
        """List the complaints that the customer's words may mean."""
        knowledge = self.walk.knowledge
        assert isinstance(self.walk.step, steps.ChooseComplaint)
        phrases = {
            name: (knowledge.complaints[name].name, *knowledge.complaints[name].words)
            for name in self.walk.step.complaints
        }
        self.words = text
        self.found = rank(text, phrases)[:MOST_MATCHES]
        self._show(screens.matches(self.walk, self.found, self.look))
        self._show([("faint", "type a number, or other words")])

    def _record(self, reply: Record) -> None:
        payload: dict[str, Any] = dict(reply.payload)
        step = self.walk.step
        if reply.kind == events.COMPLAINT:
            payload["words"] = self.words
        if reply.kind == events.ANSWERED:
            payload["audience"] = self.walk.audience.value
        if isinstance(step, steps.CloseCase):
            payload = {
                "complaint": step.complaint, "words": self.walk.case.words, "causes": list(step.causes),
                "repairs": list(step.repairs), "proven": step.proven,
            }  # fmt: skip
        if isinstance(step, steps.Advise):
            payload |= {
                "floor": step.floor.word,
                "flags": list(step.flags),
                "read_back": screens.confirm_back(self.walk, step),
            }
        self._commit(reply.kind, payload)
        self.found, self.words = [], self.words if reply.kind == events.COMPLAINT else ""
        if reply.echo:
            self._say(reply.echo)
        self._show_screen()

    def _commit(self, kind: str, payload: Mapping[str, Any]) -> None:
        """Open the case if this is its first event, then append; the walk moves on only afterwards."""
        at, knowledge = places.now(), self.walk.knowledge.version
        if not self.walk.events or self.walk.case.id in ("", "-"):
            opening = Draft(events.OPENED, at, self.by, {"car": self.car, "audience": self.walk.audience.value})
            first = self.log().open_case(opening, knowledge, secrets.choice)
            self.walk = Walk(self.walk.knowledge, (first,), self.walk.audience)
        draft = self.walk.draft(kind, at, self.by, **payload)
        recorded = self.log().append(self.walk.case.id, self.walk.case.last, [draft], knowledge)
        self.walk = self.walk.after(recorded)

    def take_over(self) -> None:
        """Note that the bay goes on with what the phone found."""
        if self.walk.audience is Audience.BAY and self.walk.case.audience != Audience.BAY.value:
            self._commit(events.TAKEN_OVER, {"audience": Audience.BAY.value})

    def _command(self, name: str, text: str) -> None:
        match name:
            case "help":
                self._show([("plain", line) for line in wording.HELP])
                self._show([("faint", screens.hint(self.walk))])
            case "why":
                from comeback.cli.reasons import why

                self._show(why(self.walk, self.look))
            case "back":
                self._back()
            case "review":
                from comeback.cli.records import case_lines

                self._show(case_lines(self.walk.knowledge, self.walk.events, self.look) if self.walk.events else [])
                self._show(screens.foot(self.walk, self.look))
            case "note" if text:
                self._commit(events.NOTED, {"text": text})
                self._say(wording.NOTED)
            case "note":
                self._say(wording.NOTE_EMPTY)

    def _back(self) -> None:
        if self.found:
            self.found = []
            self._show_screen()
            return
        last = self.walk.last_to_take_back()
        if last is None:
            self._say(wording.NOTHING_TO_TAKE_BACK)
            return
        what = _event_text(self.walk, last)
        self._commit(events.TAKEN_BACK, {"number": last.number, "kind": last.kind})
        self._say(wording.TAKEN_BACK.format(what=what))
        self._show_screen()

    def _pass_gate(self) -> None:
        """The cautions were read: record that, and show the step they belong to."""
        self._commit(events.WARNED, {"cautions": screens.step_cautions(self.walk)})
        self._passed = True
        self._show_screen()

    def _leave(self, code: int) -> int:
        case = self.walk.case.id
        if case in ("", "-"):
            self._say(wording.NOT_OPENED)
        else:
            command = "triage" if self.walk.audience is Audience.BAY else "call --case"
            self._say(wording.SAVED.format(case=case, command=command))
        return code

    def _show_screen(self) -> None:
        """The step; cautions of a step too long for one screen come first, on their own."""
        lines = [*screens.head(self.walk, self.look), *screens.body(self.walk, self.look, self._passed)]
        long = len(lines) + FOOT_LINES > SCREEN_LINES
        self._gate = long and not self._passed and self.reader.interactive and bool(screens.step_cautions(self.walk))
        self._passed = False
        if self._gate:
            self._show([*screens.head(self.walk, self.look), *screens.warning_screen(self.walk, self.look)])
            return
        if not isinstance(self.walk.step, steps.Finished):
            lines += screens.foot(self.walk, self.look)
        self._show(lines)

    def _show(self, lines: list[Styled]) -> None:
        if not self.quiet:
            show(lines, self.look, sys.stdout)

    def _say(self, text: str) -> None:
        self._show([("say", line) for line in self.look.wrap(text)])


class LogOpener:
    """Opens the case log when it is first needed, so that the first question need not wait for it."""

    def __init__(self, place: str) -> None:
        self.place = place
        self._log: Any = None

    def prepare(self) -> None:
        """Load what opening will need, without opening anything."""
        import comeback.engine.case_log_sql  # noqa: F401

    def __call__(self) -> Any:
        """The open log. Raises CaseLogError if it cannot be opened."""
        if self._log is None:
            from comeback.engine.case_log_sql import open_log

            self._log = open_log(self.place)
        return self._log


def _event_text(walk: Walk, event: events.Event) -> str:
    """An event in a few words, for the line that says what was taken back."""
    data, knowledge = event.payload, walk.knowledge
    match event.kind:
        case "answered":
            from comeback.cli.records import answer_text

            texts = (
                f"{knowledge.checks[check].name}: {answer_text(knowledge, check, result, '')}"
                for check, result in data["results"].items()
            )
            return "; ".join(list(texts)[:2])
        case "repaired" | "skipped":
            return f"{event.kind}: {knowledge.repairs[data['repair']].name}"
        case _:
            return str(data.get(event.kind) or data.get("disposition") or event.kind)
