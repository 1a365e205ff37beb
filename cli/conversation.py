"""The loop of a walk at a keyboard: show the step, read a reply, record it, and only then go on.

A case is opened with the first reply, and every reply is committed before the next step shows.
"""

import secrets
import sys
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from comeback.cli import corrections, exit_codes, places, screens, stops, wording
from comeback.cli.asides import ASIDES, earlier_line
from comeback.cli.log_opener import LogOpener
from comeback.cli.look import Look, Styled, show
from comeback.cli.payloads import payload_of
from comeback.cli.readers import Idle, Reader
from comeback.cli.replies import NO, UNKNOWN_WORDS, YES, Command, Doubt, Record, Remark, Words, read_reply
from comeback.cli.search import rank
from comeback.cli.signals import Stopped
from comeback.engine import case as events
from comeback.engine import steps
from comeback.engine.case import Draft
from comeback.engine.walk import Walk
from comeback.kb.vocabulary import Audience, Level

MOST_MATCHES = 9
SCREEN_LINES = 23  # of 24: the last is for the answer
FOOT_LINES = 2
LOOKING = ("help", "why", "back", "note", "find", "resume", "review", "so-far")
"""Commands that a stop screen lets through; none of them passes it."""

STAYING = frozenset({events.NOTED, events.WARNED, events.RENAMED, events.REGISTERED, events.GIVEN, events.READ_BACK})
"""Events after which the same step is still asked."""


@dataclass
class Conversation:
    """One sitting: the walk so far, where answers come from, where it is recorded, who answers."""

    walk: Walk
    reader: Reader
    look: Look
    log: LogOpener
    by: str
    car: str = ""
    quiet: bool = False
    level: Level = Level.TECHNICIAN
    units: str = "both"
    opening: Mapping[str, Any] = field(default_factory=dict)
    offers: Callable[[], list[Any]] = list
    found: list[str] = field(default_factory=list)
    words: str = ""
    page: int = 0
    unread: set[int] = field(default_factory=set)
    editing: corrections.Item | None = None
    registration: str = ""
    stop: stops.Stop | None = None
    passed: set[str] = field(default_factory=set)
    doubt: Record | None = None
    ended: bool = False
    _warned: bool = False

    def run(self) -> int:
        """Go on until the walk ends or is left. Returns an exit code."""
        reopened = isinstance(self.walk.step, steps.Finished) and self.reader.interactive
        self.show_screen()
        if self.reader.interactive:  # the log's library loads while the first question is read
            threading.Thread(target=self.log.prepare, daemon=True).start()
        while reopened or not isinstance(self.walk.step, steps.Finished):
            try:
                typed = self.reader.ask(self.walk)
            except Idle:
                self._recap()
                continue
            except EOFError:
                return self._leave(exit_codes.PAUSED)
            except Stopped as stopped:
                return self._stopped(stopped)
            except KeyboardInterrupt:
                if self._warned or not self.reader.interactive:
                    return self._leave(exit_codes.INTERRUPTED)
                self._warned = True
                self.say(wording.AGAIN)
                continue
            self._warned = False
            if self._respond(typed) == "leave":
                return self._leave(exit_codes.DONE if isinstance(self.walk.step, steps.Finished) else exit_codes.PAUSED)
            reopened = reopened and isinstance(self.walk.step, steps.Finished)
        self.ended = True
        return exit_codes.DONE

    def _respond(self, typed: str) -> str | None:
        text = " ".join(typed.lower().split())
        if self.doubt is not None:
            record, self.doubt = self.doubt, None
            if text in YES:
                self.record(record)
                return None
        if self.stop is not None and text == self.stop.word:
            self._pass_stop(self.stop)
            return None
        reply: Any = read_reply(self.walk, typed, self.found, self.hint(), self.units)
        if self._driving_due() and self.stop is None and not isinstance(reply, Command):
            reply = self._driving_reply(text)
        if isinstance(reply, Command) and reply.name == "leave":
            return "leave"
        if self.stop is not None and not (isinstance(reply, Command) and reply.name in LOOKING):
            self.say(self.stop.hint)
            return None
        match reply:
            case Remark(said):
                self.say(said)
            case Command(name, rest):
                ASIDES[name](self, rest)
            case Words(said):
                self._match(said)
            case Doubt(record, said):
                self.doubt = record
                self.say(said)
            case Record(kind) if self.unread and kind in (events.ANSWERED, events.REPAIRED, events.CLOSED):
                self.say(wording.READ_ON)
            case Record():
                self.record(reply)
        return None

    def _driving_due(self) -> bool:
        """On the phone: nothing is asked before it is known whether the caller is driving."""
        case = self.walk.case
        begun = case.driving is not None or case.service is not None or self.reader.scripted
        asked = any(event.kind == events.DRIVING for event in events.standing(self.walk.events))
        return self.walk.audience is Audience.PHONE and not begun and not asked

    def _driving_reply(self, text: str) -> Record | Remark:
        if text in YES | NO | UNKNOWN_WORDS:
            driving = True if text in YES else False if text in NO else None
            return Record(events.DRIVING, {"driving": driving})
        shown = wording.EMPTY if not text else wording.NOT_AN_ANSWER
        return Remark(shown.format(text=text[:40], hint=wording.DRIVING_HINT))

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
        self.show(screens.matches(self.walk, self.found, self.look))
        self.show([("faint", "type a number, or other words   b back")])

    def record(self, reply: Record) -> None:
        """Commit the reply to the step (or to the answer that is being edited) and show what comes next."""
        payload = payload_of(self.walk, reply, self.words, self.editing is not None)
        if self.editing is not None:
            item, self.editing = self.editing, None
            at = places.now()
            self._append(corrections.corrected(self.walk, item, reply.kind, payload, at, self.by))
        else:
            self.commit(reply.kind, payload)
        self.found, self.words, self.page = [], "", 0
        if reply.echo:
            self.say(reply.echo)
        self.show_screen()

    def commit(self, kind: str, payload: Mapping[str, Any]) -> None:
        """Open the case if this is its first event, then append; the walk moves on only afterwards."""
        self.page = 0
        asked = self.walk.asked if kind in STAYING else None
        if not self.walk.events or self.walk.case.id in ("", "-"):
            opened = {"car": self.car, "audience": self.walk.audience.value, **self.opening}
            opening = Draft(events.OPENED, places.now(), self.by, opened)
            first = self.log().open_case(opening, self.walk.knowledge.version, secrets.choice)
            self.walk = Walk(self.walk.knowledge, (first,), self.walk.audience)
        self._append([self.walk.draft(kind, places.now(), self.by, **payload)])
        self.walk = self.walk.at(asked) if asked is not None else self.walk

    def _append(self, drafts: list[Draft]) -> None:
        recorded = self.log().append(self.walk.case.id, self.walk.case.last, drafts, self.walk.knowledge.version)
        if any(draft.kind not in STAYING for draft in drafts):  # another step: its cautions are shown anew
            self.passed = {key for key in self.passed if not key.startswith("step")}
        self.walk = self.walk.after(recorded)

    def take_over(self) -> None:
        """Go on with a recorded case: note the bay's take-over, take out what today's knowledge no longer has."""
        known = self.walk.events[-1].knowledge
        if self.walk.audience is Audience.BAY and self.walk.case.audience != Audience.BAY.value:
            self.commit(events.TAKEN_OVER, {"audience": Audience.BAY.value})
        stale = corrections.no_longer_known(self.walk)
        if stale:
            self._append(corrections.taken_out(self.walk, stale, places.now(), self.by))
            self.say(wording.STALE.format(what="; ".join(item.asked for item in stale)))
        if known != self.walk.knowledge.version:
            text = wording.KNOWLEDGE_CHANGED.format(old=known, new=self.walk.knowledge.version)
            lines = [*(("say", line) for line in self.look.wrap(text)), ("faint", wording.CHANGED_STOP)]
            if not self.reader.interactive:
                self.show(lines[:-1])
                return
            self.stop = stops.Stop("knowledge", "go on", tuple(lines), {"stop": "knowledge"}, lines[-1][1])

    def resume(self, text: str) -> None:
        """Go on with an unfinished walk, by its place in the list or its case id; without either, list them."""
        from comeback.cli.resuming import offer_lines

        found = self.offers()
        if self.walk.events and self.walk.case.id not in ("", "-"):
            self.say(f"This walk is case {self.walk.case.id}. Leave it first (q); it is saved.")
            return
        ids = [offer.case for offer in found]
        wanted = ids[int(text) - 1] if text.isdecimal() and 1 <= int(text[:6]) <= len(ids) else text.upper()
        if wanted not in ids:
            self.show(offer_lines(found, self.look) or [("say", "No unfinished walk.")])
            return
        self.walk = Walk(self.walk.knowledge, self.log().events(wanted), self.walk.audience)
        self.take_over()
        self._recap("You go on with this walk:")

    def go_to(self, step: steps.Step, item: corrections.Item | None) -> None:
        """Jump to a step; with `item` its answer corrects that one. b returns without a change."""
        self.editing, self.walk, self.found, self.page = item, self.walk.at(step), [], 0
        self.show_screen()

    def _pass_stop(self, stop: stops.Stop) -> None:
        """The stop screen was read: record that, and show the step it belongs to."""
        if self.walk.case.closed is None:
            self.commit(events.WARNED, {**stop.payload, "word": stop.word})
        self.passed.add(stop.key)
        self.stop = None
        self.show_screen()

    def _recap(self, title: str = wording.RECAP) -> None:
        """Where one is: the last answer, and the step again."""
        found = corrections.items(self.walk) if self.walk.events else []
        last = f"Last answer: {found[-1].asked}: {found[-1].said} ({found[-1].event.by})" if found else ""
        self.show([("title", title), *(("plain", line) for line in self.look.wrap(last) if line)])
        self.show_screen()

    def _stopped(self, stopped: Stopped) -> int:
        try:
            self.say(wording.INTERRUPTED_BY.format(signal=stopped.name))
            self._leave(stopped.code)
        except OSError:  # the terminal is gone; everything is saved already
            pass
        return stopped.code

    def _leave(self, code: int) -> int:
        case = self.walk.case.id
        if case in ("", "-"):
            self.say(wording.NOT_OPENED)
        else:
            self.say(wording.SAVED.format(case=case, command=self.command()))
        return code

    def command(self) -> str:
        """The command that goes on with this walk, but for its case id."""
        return "triage" if self.walk.audience is Audience.BAY else "call --case"

    def hint(self) -> str:
        """How the present question can be answered."""
        if self.stop is not None:
            return self.stop.hint
        return wording.DRIVING_HINT if self._driving_due() else screens.hint(self.walk)

    def feet(self) -> list[Styled]:
        """The keys that answer this step, and those that work everywhere."""
        return [("faint", line) for text in (self.hint(), wording.KEYS) for line in self.look.wrap(text)]

    def show_screen(self) -> None:
        """The step, or the stop screen before it."""
        self._act_on_level()
        head, warned = screens.head(self.walk, self.look, self._progress()), False
        if self.stop is None or self.stop.key != "knowledge":
            room = SCREEN_LINES - FOOT_LINES - len(head)
            self.stop = stops.stop_before(self.walk, self.look, room, self.passed) if self.reader.interactive else None
            if self.stop is not None and self.stop.key in self.passed:
                self.stop, warned = None, True
        if self.stop is not None:
            self.show([*head, *self.stop.lines])
            return
        if self._driving_due():
            self.show(screens.driving_question(self.look, self.walk))
            self._show_offers()
            self.show(self.feet())
            return
        end = [] if isinstance(self.walk.step, steps.Finished) else self.feet()
        end = [*earlier_line(self.walk, self.editing), *end]
        body = screens.body(self.walk, self.look, warned, self.page)
        if self.reader.interactive:
            parts = screens.pages(self.walk, body, self.look, SCREEN_LINES - len(head) - len(end))
            body = parts[self.page % len(parts)]
            self.unread = (self.unread if self.page else set(range(len(parts)))) - {self.page % len(parts)}
        self.show([*head, *body])
        self._show_offers()
        if end:
            self.show(end)

    def _show_offers(self) -> None:
        """Unfinished walks, on the first screen of a new one; the question stands there before the log is read."""
        if self.walk.events[1:] or not self.reader.interactive:
            return
        from comeback.cli.resuming import offer_lines

        found = offer_lines(self.offers(), self.look, most=3)
        if found:
            self.show(found)

    def _act_on_level(self) -> None:
        """A specialist at the keyboard does the repairs that others hand over."""
        step = self.walk.step
        if self.level is Level.SPECIALIST and isinstance(step, steps.HandOver) and step.repair:
            entry = self.walk.knowledge.repairs[step.repair]
            now = self.walk.situation.belief
            cures = max((p * now.probability(c) for c, p in entry.removes.items()
                         if c in self.walk.situation.network.causes), default=0.0)  # fmt: skip
            self.walk = self.walk.at(steps.DoRepair(step.repair, entry.minutes, cures, entry.minutes, ()))

    def _progress(self) -> str:
        if not self.walk.events or self.quiet:
            return ""
        from comeback.cli.questions_left import progress

        return progress(self.walk)

    def show(self, lines: list[Styled]) -> None:
        """Print lines, unless only the JSON at the end is wanted."""
        if not self.quiet:
            show(lines, self.look, sys.stdout)

    def say(self, text: str) -> None:
        """Print a remark."""
        self.show([("say", line) for line in self.look.wrap(text)])
