"""A drill from its first line in the log to its debrief; one that was stopped goes on; an exam is several cars."""

import secrets
import shlex
import sys
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from comeback.cli import exit_codes
from comeback.cli.drill import debrief as drill_debrief
from comeback.cli.drill import exam as drill_exam
from comeback.cli.drill.calling import Calling
from comeback.cli.drill.data import data
from comeback.cli.drill.loop import Drilling
from comeback.cli.errors import UsageError
from comeback.cli.look import Look, Styled, show
from comeback.cli.prompt.readers import Reader
from comeback.cli.signals import Stopped
from comeback.engine.case.events import Draft, Event
from comeback.engine.case_log.drills import add_turn, drill_events, open_drill
from comeback.engine.case_log.store import SqlCaseLog
from comeback.engine.drill import record
from comeback.engine.drill.drill import Drill, Mode
from comeback.engine.drill.hidden_car import hide_car
from comeback.engine.drill.phone import PhoneDrill
from comeback.engine.drill.score import score
from comeback.engine.safe_text import as_json
from comeback.kb.schema import KnowledgeBase


def _now() -> str:
    """The time as `places.now` gives it, but to the millisecond: an exam's cars and short turns stay in order."""
    return datetime.now().astimezone().isoformat(timespec="milliseconds")


@dataclass
class Sitting:
    """Who drills, with what, and where it is written down. `events` are those of the drill under way."""

    knowledge: KnowledgeBase
    log: SqlCaseLog
    reader: Reader
    look: Look
    by: str
    json: bool = False
    now: Callable[[], str] = _now
    events: list[Event] = field(default_factory=list)

    @property
    def id(self) -> str:
        """The id of the drill under way."""
        return self.events[0].case

    def begin(
        self, mode: Mode, seed: int, service: str | None, complaint: str | None, exam: Mapping[str, Any] | None = None
    ) -> int:
        """Hide a car, write down that a drill begins, and drill. An exam goes on with its next cars."""
        self._wait("Hiding a cause ...")
        drill = record.new_drill(self.knowledge, hide_car(self.knowledge, seed, service, complaint), mode)
        if mode is Mode.WATCH:
            return Drilling(drill, self.reader, self.look).run()
        opening = {"mode": mode.value, "seed": seed, "service": service, "complaint": complaint, "exam": exam}
        draft = Draft(record.OPENED, self.now(), self.by, opening)
        self.events = [open_drill(self.log, draft, self.knowledge.version, secrets.choice)]
        return self._drill(drill)

    def go_on(self, drill_id: str) -> int:
        """Go on with a drill that was stopped, or with the next car of its exam."""
        self.events = list(drill_events(self.log, drill_id))
        if self.events[-1].kind != record.FINISHED:
            self._wait("Going on ...")
            return self._drill(record.rebuild(self.knowledge, self.events))
        if drill_exam.following(self.log, self.events[0]) is None:
            raise UsageError(f"Drill {drill_id} is finished. Its debrief: comeback drill --debrief {drill_id}")
        return self._next_car()

    def debrief(self, drill_id: str) -> int:
        """The debrief of a finished drill, worked out anew from its seed and turns."""
        self.events = list(drill_events(self.log, drill_id))
        if self.events[-1].kind != record.FINISHED:
            name = shlex.quote(self.events[0].by)
            go_on = f"comeback drill --resume {drill_id} --by {name}"
            raise UsageError(f"Drill {drill_id} is not finished. Go on with it: {go_on}")
        self._wait("Working it out ...")
        drill = record.rebuild(self.knowledge, self.events)
        if self.json:
            self._print(drill)
        else:
            self._debrief(Drilling(drill, self.reader, self.look))
        return exit_codes.DONE

    def _drill(self, drill: Drill) -> int:
        """The drill from where it is, to its end or until it is left."""
        kind = Calling if isinstance(drill, PhoneDrill) else Drilling
        drilling = kind(
            drill, self.reader, self.look, self.json, self._keep, self._name(drill), len(self.events) > 1,
            asks=kind is Drilling,
        )  # fmt: skip
        try:
            code = drilling.run()
        except Stopped as stopped:
            code = stopped.status
        if not drill.ended:
            return self._left(drill, code)
        result = data(drill, score(drill), self.events[0].payload)
        self._keep(record.FINISHED, result)
        if drill.mode is Mode.EXAM:
            return self._after_exam_car(drill)
        if self.json:
            self._print(drill)
        else:
            self._debrief(drilling)
        return code

    def _name(self, drill: Drill) -> str:
        exam = self.events[0].payload.get("exam")
        if exam:
            return f"exam, car {exam['number']} of {exam['of']}   ({self.id})"
        return f"{drill.mode.value}, seed {drill.car.seed}   ({self.id})"

    def _keep(self, kind: str, payload: dict[str, Any]) -> None:
        """Write down what was done; it is on the disk when this returns."""
        self.events.append(add_turn(self.log, self.events[-1], Draft(kind, self.now(), self.by, payload)))

    def _left(self, drill: Drill, code: int) -> int:
        if self.json:
            self._print(drill)
            return code
        with suppress(OSError):  # the terminal may be gone; everything is kept already
            name = shlex.quote(self.events[0].by)
            self._say(f"Stopped; nothing is lost. Go on: comeback drill --resume {self.id} --by {name}")
        return code

    def _after_exam_car(self, drill: Drill) -> int:
        """In an exam only a safety miss is told at once; the marks come after the last car."""
        if drill.safety:
            self._say(f"Stopped for safety: {drill.safety[0]}.")
        exam = self.events[0].payload["exam"]
        if exam["number"] < exam["of"]:
            self._say(f"Car {exam['number']} of {exam['of']} is done.")
            return self._next_car()
        marked = drill_exam.marked(self.log, self.events[0])
        if self.json:
            print(as_json(drill_exam.plain(marked), indent=1))
        else:
            for screen in drill_exam.screens(marked, self.knowledge, self.look):
                show(screen, self.look)
        return exit_codes.DONE

    def _next_car(self) -> int:
        first = self.events[0].payload
        exam = drill_exam.following(self.log, self.events[0])
        if exam is None:
            raise UsageError(f"The exam of drill {self.id} is over. Its results: comeback drill --results --by NAME")
        seed = exam["first"] + exam["number"] - 1
        return self.begin(Mode.EXAM, seed, first.get("service"), first.get("complaint"), exam)

    def _debrief(self, drilling: Drilling) -> None:
        drill = drilling.drill
        for number, screen in enumerate(drill_debrief.screens(drill, score(drill), self.look, self.id)):
            if number and not drilling.pause():
                break
            show(screen, self.look)

    def _print(self, drill: Drill) -> None:
        first, last = self.events[0], self.events[-1]
        head = {"id": self.id, "at": last.at, "by": first.by}
        result = data(drill, score(drill), first.payload)
        print(as_json({**head, **result}, indent=1))

    def _say(self, text: str) -> None:
        lines: list[Styled] = [("say", line) for line in self.look.wrap(text)]
        if not self.json:
            show(lines, self.look)

    def _wait(self, text: str) -> None:
        if sys.stderr.isatty():
            print(text, file=sys.stderr, flush=True)
