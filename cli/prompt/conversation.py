"""The loop of a walk at a keyboard: show the step, read a reply, record it, and only then go on.

A case is opened with the first reply, and every reply is committed before the next step shows.
"""

import secrets
import shlex
import sys
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from comeback.cli import exit_codes, places
from comeback.cli.look import Look, Styled, show
from comeback.cli.prompt import corrections, side_questions, volunteering
from comeback.cli.prompt import resume as taking_up
from comeback.cli.prompt.commands import ASIDES, earlier_line
from comeback.cli.prompt.levels import act_on_level
from comeback.cli.prompt.log_opener import LogOpener
from comeback.cli.prompt.meanwhile import append
from comeback.cli.prompt.naming import danger_named, match_words, remark
from comeback.cli.prompt.outage import insist
from comeback.cli.prompt.payloads import payload_of
from comeback.cli.prompt.readers import Idle, Reader
from comeback.cli.prompt.reminders import lamp_lit, reminder
from comeback.cli.prompt.replies import YES, Command, Doubt, Record, Remark, Words, read_reply
from comeback.cli.screens import heading, screens, wording
from comeback.cli.screens import stop_screens as stops
from comeback.cli.screens.pages import pages
from comeback.cli.signals import Stopped
from comeback.cli.words.search import will_not_slow
from comeback.engine.case.events import TOLD, Draft, Kind
from comeback.engine.case_log.fields import NotStorable
from comeback.engine.case_log.protocol import LogUnreachable
from comeback.engine.safe_text import harmless
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience, Level

SCREEN_LINES = 23  # of 24: the last is for the answer
LONGEST_LINE = 2000
"""Signs of one typed line: a pasted file is no answer."""
LOOKING = (
    "help", "why", "back", "note", "find", "resume", "review", "so-far", "reg", "contact", "more", "saw", "codes",
)  # fmt: skip
"""Commands that a stop screen lets through; none of them passes it: what comes next stands behind its own."""
LOUDER = ("up", "down", "edit")
"""Commands that the stop screen of an advice lets through beside those: they make it another advice."""
READ_FIRST = (Kind.ANSWERED, Kind.REPAIRED, Kind.CLOSED)
STAYING = frozenset(
    {Kind.NOTED, Kind.WARNED, Kind.RENAMED, Kind.REGISTERED, Kind.GIVEN, Kind.READ_BACK, Kind.DRIVING,
     Kind.CONTACT, Kind.SAID}
)  # fmt: skip
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
    seen: list[str] = field(default_factory=list)  # checks listed for what was seen without being asked
    rest: list[list[Styled]] = field(default_factory=list)  # pages of a long list that are not read yet
    words: str = ""
    page: int = 0
    reminded_at: steps.Step | None = None
    read: set[Styled] = field(default_factory=set)  # lines of this step that were on the screen
    unread: bool = False
    editing: corrections.Item | None = None
    sat_down: int = 0
    """Number of the last event before this sitting; 0 in the sitting that opens the case."""
    nobody: int = -1
    just_told: bool = False
    left: set[str] = field(default_factory=set)
    stop: stops.Stop | None = None
    passed: set[str] = field(default_factory=set)
    doubt: Record | None = None
    ended: bool = False
    reopened: bool = False
    _warned: bool = False

    def run(self) -> int:
        """Go on until the walk ends or is left. Returns an exit code."""
        self.reopened = isinstance(self.walk.step, steps.Finished) and self.reader.interactive
        self.show_screen()
        if self.reader.interactive:  # the log's library loads while the first question is read
            threading.Thread(target=self.log.prepare, daemon=True).start()
        while self._goes_on():
            try:
                typed = self.reader.ask(self.walk)
            except Idle:
                self.recap()
                continue
            except EOFError:
                return self._leave(self._left_code())
            except Stopped as stopped:
                return self._stopped(stopped)
            except KeyboardInterrupt:
                if self._warned or not self.reader.interactive:
                    return self._leave(exit_codes.INTERRUPTED)
                self._warned = True
                self.say(wording.AGAIN)
                continue
            self._warned = False
            try:
                if self._respond(typed) == "leave":
                    return self._leave(self._left_code())
            except NotStorable as error:  # too long for its field: said, and asked again
                self.say(str(error))
            except LogUnreachable as error:  # something was only to be read: the walk itself goes on without it
                if not self.reader.interactive:
                    raise
                self.say(str(error))
                self.show_screen()
        self.ended = True
        return exit_codes.DONE

    def _goes_on(self) -> bool:
        """Until the walk ends; one that is opened again after its end, until it is left or ends anew."""
        if not isinstance(self.walk.step, steps.Finished):
            self.reopened = False
            return True
        return self.reopened or side_questions.side_question(self) is not None

    def _respond(self, typed: str) -> str | None:
        if len(typed) > LONGEST_LINE:
            self.say(wording.TOO_LONG.format(length=len(typed), limit=LONGEST_LINE))
            return None
        typed = harmless(typed)
        text = " ".join(typed.lower().split())
        if self.doubt is not None:
            record, self.doubt = self.doubt, None
            if text in YES:
                self.record(record)
                return None
        if self.stop is not None and text == self.stop.word:
            self._pass_stop(self.stop)
            return None
        if volunteering.picked(self, text):
            return None
        told = None if self.editing else volunteering.volunteered(self.walk, typed, self.stop is not None)
        reply: Any = told or read_reply(self.walk, typed, self.found, self.hint(), self.units)
        aside = side_questions.side_question(self) if self.stop is None else None
        if aside is not None and not isinstance(reply, Command):
            self._answer_aside(aside, " ".join(typed.split()))
            return None
        self.rest = self.rest if reply == Command("more") else []
        if isinstance(reply, Command) and reply.name == "leave":
            return "leave"
        allowed = (*LOOKING, *(LOUDER if self.stop is not None and self.stop.word == TOLD else ()))
        if self.stop is not None and not (isinstance(reply, Command) and reply.name in allowed):
            self._stay(self.stop, typed)
            return None
        match reply:
            case Remark(said):
                remark(self, typed, said)
            case Command(name, rest):
                ASIDES[name](self, rest)
            case Words(said):
                match_words(self, said)
            case Doubt(record) if self.reader.scripted:  # a file of answers cannot be asked back
                self.record(record)
            case Doubt(record, said):
                self.doubt = record
                self.say(said)
            case Record(kind) if self.unread and not isinstance(self.walk.step, steps.ReadPanel) and kind in READ_FIRST:
                self.say(wording.READ_ON)
            case Record():
                self.record(reply)
        return None

    def _stay(self, stop: stops.Stop, typed: str) -> None:
        """What was typed does not pass the stop screen; a moving car that will not slow down is told what to do."""
        if stop.key == stops.DRIVING_KEY and will_not_slow(self.walk.knowledge, typed):
            self.stop = stops.driving_stop(self.look, wording.RACING, racing=True)
            self.show(list(self.stop.lines))
        else:
            self.say(stop.hint)

    def _answer_aside(self, question: side_questions.SideQuestion, text: str) -> None:
        """An answer to a question beside the steps; the step, or what is being edited, stays where it is."""
        remark = question.take(self, text)
        if question.dangers and danger_named(self, text):
            return
        if remark:
            self.say(remark)
        if self._goes_on():
            self.show_screen()

    def record(self, reply: Record) -> None:
        """Commit the reply to the step (or to the answer that is being edited) and show what comes next."""
        told = replace(reply, kind=Kind.ADVISED) if reply.kind == Kind.REFUSED else reply
        words = corrections.all_words(self.walk, self.words)
        payload = payload_of(self.walk, told, words, self.editing is not None)
        if self.editing is not None:
            item = self.editing
            at = places.now()
            recorded = self._append(corrections.corrected(self.walk, item, reply.kind, payload, at, self.by))
            self.editing = None
        else:
            recorded = self.commit(reply.kind, payload)
        self.just_told = self.just_told or (recorded and reply.kind == Kind.ADVISED)
        self.found, self.words, self.page = [], "", 0
        if reply.echo and recorded:
            self.say(reply.echo)
        self.show_screen()

    def commit(self, kind: str, payload: Mapping[str, Any]) -> bool:
        """Open the case if this is its first event, then append; the walk moves on only afterwards. See `_append`."""
        self.page = 0
        asked = self.walk.asked if kind in STAYING else None
        draft = self.walk.draft(kind, places.now(), self.by, **payload)
        if not self.walk.events or self.walk.case.id in ("", "-"):
            opened = {"car": self.car, "audience": self.walk.audience.value, **self.opening}
            opening = Draft(Kind.OPENED, places.now(), self.by, opened)
            version = self.walk.knowledge.version
            first = insist(self, [draft], lambda: self.log().open_case(opening, version, secrets.choice))
            self.walk = Walk(self.walk.knowledge, (first,), self.walk.audience)
        recorded = self._append([draft])
        self.walk = self.walk.at(asked) if asked is not None and recorded else self.walk
        return recorded

    def _append(self, drafts: list[Draft]) -> bool:
        """Record; False if what another recorded meanwhile makes it a question anew: that is told, nothing is lost."""
        self.walk, came, recorded = insist(self, drafts, lambda: append(self.walk, self.log(), drafts))
        if came or any(draft.kind not in STAYING for draft in drafts):  # another step: its cautions are shown anew
            self.passed = {key for key in self.passed if not key.startswith("step")}
            self.read = set()
        if came:
            self.say(came)
        return recorded

    def take_over(self) -> None:
        """Go on with a recorded case: note the bay's take-over, take out what today's knowledge no longer has."""
        known, self.sat_down = self.walk.events[-1].knowledge, self.walk.case.last
        taking_up.say_who_signs(self)
        if self.walk.audience is Audience.BAY and self.walk.case.audience is not Audience.BAY:
            self.commit(Kind.TAKEN_OVER, {"audience": Audience.BAY.value})
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

    def go_to(self, step: steps.Step, item: corrections.Item | None) -> None:
        """Jump to a step; with `item` its answer corrects that one. b returns without a change."""
        self.editing, self.walk, self.found, self.page = item, self.walk.at(step), [], 0
        self.show_screen()

    def _pass_stop(self, stop: stops.Stop) -> None:
        """The stop screen was read: record that, and show the step it belongs to."""
        if self.walk.case.closed is None:
            self.commit(Kind.WARNED, {**stop.payload, "word": stop.word})
        if stop.word == TOLD:  # what was read out before is no longer what the caller heard last
            self.passed = {key for key in self.passed if not key.startswith("told ")}
        self.passed.add(stop.key)
        self.stop = None
        self.show_screen()

    def recap(self, title: str = wording.RECAP) -> None:
        """Where one is: the last answer, and the step again."""
        found = corrections.items(self.walk) if self.walk.events else []
        last = f"Last answer: {found[-1].asked}: {found[-1].said} ({found[-1].event.by})" if found else ""
        self.show([("title", title), *(("plain", line) for line in self.look.wrap(last) if line)])
        self.show_screen()

    def _stopped(self, stopped: Stopped) -> int:
        try:
            self.say(wording.INTERRUPTED_BY.format(signal=stopped.name))
            self._leave(stopped.status)
        except OSError:  # the terminal is gone; everything is saved already
            pass
        return stopped.status

    def _leave(self, code: int) -> int:
        case = self.walk.case.id
        saved = wording.SAVED.format(case=case, command=self.command(), by=f" --by {shlex.quote(self.by)}")
        self.say(wording.NOT_OPENED if case in ("", "-") else saved)
        return code

    def _left_code(self) -> int:
        return exit_codes.DONE if isinstance(self.walk.step, steps.Finished) else exit_codes.PAUSED

    def command(self) -> str:
        """The command that goes on with this walk, but for its case id."""
        return "triage" if self.walk.audience is Audience.BAY else "call --case"

    def hint(self) -> str:
        """How the present question can be answered."""
        if self.stop is not None:
            return self.stop.hint
        aside = side_questions.side_question(self)
        return aside.hint(self) if aside is not None else screens.hint(self.walk)

    def feet(self) -> list[Styled]:
        """The keys that answer this step, and those that work everywhere."""
        return [("faint", line) for text in (self.hint(), wording.KEYS) for line in self.look.wrap(text)]

    def show_screen(self) -> None:
        """The step, or the stop screen before it."""
        act_on_level(self)
        head = heading.head(self.walk, self.look, self._progress())
        aside = side_questions.side_question(self) if self.stop is None or self.stop.key != "knowledge" else None
        if aside is not None:
            self.stop = None
            self.show([*head, *side_questions.lines(self, aside)])
            taking_up.show_offers(self)
            self.show(self.feet())
            return
        self.stop, stop = None, self.stop
        end = [*reminder(self), *earlier_line(self.walk, self.look, self.editing), *self.feet()]
        self.stop = stop
        warned = self._set_stop()
        if self.stop is not None:
            self.show([*head, *self.stop.lines])
            return
        if isinstance(self.walk.step, steps.Finished) and not self.reopened:
            self.show([*head, ("title", wording.FINISHED[self.walk.step.how])])
            return
        if self.reminded_at is None and lamp_lit(self):
            self.reminded_at = self.walk.step
        body = screens.body(self.walk, self.look, warned, self.page)
        if self.reader.interactive:
            parts = pages(self.walk, body, self.look, SCREEN_LINES - len(head) - len(end))
            body = parts[self.page % len(parts)]
            self.read |= set(body)
            self.unread = not self.read.issuperset(line for part in parts for line in part)
        self.show([*head, *body])
        taking_up.show_offers(self)
        self.show(end)

    def _set_stop(self) -> bool:
        """The stop screen that goes before the step; True if it was passed already, so that its step is shorter."""
        if self.stop is not None and self.stop.key == "knowledge":
            return False
        self.stop = stops.stop_before(self.walk, self.look, self.passed) if self.reader.interactive else None
        if self.stop is not None and self.stop.key in self.passed:
            self.stop = None
            return True
        return False

    def _progress(self) -> str:
        if not self.walk.events or self.quiet or self.walk.asked is not None:
            return ""
        from comeback.cli.screens.questions_left import progress

        return progress(self.walk)

    def show(self, lines: list[Styled]) -> None:
        """Print lines, unless only the JSON at the end is wanted."""
        if not self.quiet:
            show(lines, self.look, sys.stdout)

    def say(self, text: str) -> None:
        """Print a remark."""
        self.show([("say", line) for line in self.look.wrap(text)])
