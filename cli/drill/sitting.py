"""A drill from its first line in the log to its debrief; one that was stopped goes on; an exam is several cars."""

import secrets
import shlex
import sys
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import Any

from comeback.cli import exit_codes
from comeback.cli.drill import debrief, watch
from comeback.cli.drill.at_car import AtCar
from comeback.cli.drill.at_phone import AtPhone
from comeback.cli.drill.loop import Drilling
from comeback.cli.drill.results import exam_lines, next_of_exam
from comeback.cli.errors import UsageError
from comeback.cli.look import Look, Styled, show
from comeback.cli.prompt.reply import LEAVE
from comeback.cli.readers import Idle, Reader
from comeback.cli.screens.event_text import first_of
from comeback.cli.signals import Stopped, caught
from comeback.engine.case.events import Draft, Event
from comeback.engine.case_log.drills import add_turn, drill_events, drill_lines, open_drill
from comeback.engine.case_log.store import SqlCaseLog
from comeback.engine.drill import record
from comeback.engine.drill.drill import Drill, Mode
from comeback.engine.drill.hidden_car import hide_car
from comeback.engine.drill.phone import PhoneDrill
from comeback.engine.drill.score import score
from comeback.kb.schema import KnowledgeBase

MOST_NAMED = 5


def _now() -> str:
    """The time as `places.now` gives it, but to the millisecond: an exam's cars and short turns stay in order."""
    return datetime.now().astimezone().isoformat(timespec="milliseconds")


@dataclass
class Sitting:
    """A learner at the keyboard: knowledge, log, reader, look, name. `events` are those of the drill under way."""

    knowledge: KnowledgeBase
    log: SqlCaseLog
    reader: Reader
    look: Look
    by: str
    events: list[Event] = field(default_factory=list)

    @property
    def id(self) -> str:
        """The id of the drill under way."""
        return self.events[0].case

    def begin(
        self, mode: Mode, seed: int, service: str | None, complaint: str | None, of: Mapping[str, Any] | None = None
    ) -> int:
        """Hide a car, write down that a drill begins, and drill. `of` an exam: it goes on with its next cars."""
        self._wait("Hiding a cause ...")
        drill = record.new_drill(self.knowledge, hide_car(self.knowledge, seed, service, complaint), mode)
        if mode is Mode.WATCH:
            return exit_codes.DONE if self._in_turn(drill, watch.screens(drill, self.look)) else exit_codes.PAUSED
        opening = {"mode": mode.value, "seed": seed, "service": service, "complaint": complaint, "exam": of}
        draft = Draft(record.OPENED, _now(), self.by, opening)
        self.events = [open_drill(self.log, draft, self.knowledge.version, secrets.choice)]
        return self._drill(drill)

    def go_on(self, drill_id: str) -> int:
        """Continue a drill that was stopped, or its exam with the next car. Raises UsageError if it is finished."""
        self.events = list(drill_events(self.log, drill_id))
        if self.events[-1].kind == record.FINISHED:
            return self._next_car(f"Drill {drill_id} is finished. Its debrief: comeback drill --debrief {drill_id}")
        self._wait("Loading the drill ...")
        return self._drill(record.rebuild(self.knowledge, self.events))

    def debrief(self, drill_id: str) -> int:
        """The debrief of a finished drill, worked out again from its seed and turns."""
        self.events = list(drill_events(self.log, drill_id))
        if self.events[-1].kind != record.FINISHED:
            raise UsageError(f"Drill {drill_id} is not finished. Continue it: {_resume(self.events[0])}")
        self._wait("Working it out ...")
        self._end(record.rebuild(self.knowledge, self.events))
        return exit_codes.DONE

    def _drill(self, drill: Drill) -> int:
        """The drill from where it is, to its end or until it is left."""
        place = AtPhone(drill, self.look) if isinstance(drill, PhoneDrill) else AtCar(drill, self.look)
        of = self.events[0].payload["exam"]
        name = f"exam, car {of['number']} of {of['of']}" if of else f"{drill.mode.value}, seed {drill.car.seed}"
        try:
            code = Drilling(place, self.reader, self._keep, f"{name}   ({self.id})", len(self.events) > 1).run()
        except Stopped as stopped:
            caught()
            code = stopped.status
        if not drill.ended:
            with suppress(OSError):  # the terminal may be gone; everything is kept already
                self._say(f"Stopped; nothing is lost. Continue: {_resume(self.events[0])}")
            return code
        self._keep(record.FINISHED, asdict(score(drill)))
        if not of:
            self._end(drill)
            return code
        if drill.misses:  # in an exam only a safety miss is told at once; the marks come after the last car
            self._say(f"Stopped for safety: {drill.misses[0].text}.")
        if of["number"] < of["of"]:
            self._say(f"Car {of['number']} of {of['of']} is done.")
            return self._next_car(f"The exam with drill {self.id} is over. Its results: comeback drill --results")
        show(exam_lines(self.log, self.events[0], self.knowledge, self.look), self.look)
        return exit_codes.DONE

    def _keep(self, kind: str, payload: Mapping[str, Any]) -> None:
        """Write down what was done; it is on the disk when this returns."""
        self.events.append(add_turn(self.log, self.events[-1], Draft(kind, _now(), self.by, dict(payload))))

    def _next_car(self, over: str) -> int:
        """Raises UsageError, which says `over`, if there is no next car."""
        first = self.events[0].payload
        of = next_of_exam(self.log, self.events[0])
        if of is None:
            raise UsageError(over)
        return self.begin(Mode.EXAM, of["first"] + of["number"] - 1, first["service"], first["complaint"], of)

    def _end(self, drill: Drill) -> None:
        self._in_turn(drill, debrief.screens(drill, score(drill), self.look, self.id))

    def _in_turn(self, drill: Drill, screens: list[list[Styled]]) -> bool:
        """Screen after screen, at a terminal each after Enter; False if the learner leaves."""
        for number, screen in enumerate(screen for screen in screens if screen):
            if number and self.reader.interactive:
                show([("faint", "Enter to go on, q to leave")], self.look)
                with suppress(Idle):
                    try:
                        if self.reader.ask(drill.walk).strip().lower() in LEAVE:
                            return False
                    except (EOFError, KeyboardInterrupt):
                        return False
            show(screen, self.look)
        return True

    def _say(self, text: str) -> None:
        show(self.look.styled("say", text), self.look)

    def _wait(self, text: str) -> None:
        if sys.stderr.isatty():
            print(text, file=sys.stderr, flush=True)


def _resume(opened: Event) -> str:
    """The command that continues a drill."""
    return f"comeback drill --resume {opened.case} --by {shlex.quote(opened.by)}"


def last_stopped(log: SqlCaseLog, by: str) -> str:
    """The id of the drill that `by` touched last and that can be continued. Raises UsageError, with those of others."""
    lines = sorted(drill_lines(log), key=lambda line: (line.last.at, line.opened.at), reverse=True)
    open_ = [line for line in lines if not line.finished or next_of_exam(log, line.opened) is not None]
    mine = [line.id for line in open_ if line.opened.by == by]
    if mine:
        return mine[0]
    none = f"{by} has no unfinished drill in {log.name}."
    if not open_:
        raise UsageError(f"{none} Begin one: comeback drill")
    named = first_of([f"{x.id} ({x.opened.by}, {x.last.at[5:16].replace('T', ' ')})" for x in open_], MOST_NAMED, ", ")
    raise UsageError(f"{none} Unfinished: {named}. Continue one: {_resume(open_[0].opened)}")
