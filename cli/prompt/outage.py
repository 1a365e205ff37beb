"""The log in the middle of a walk: out of reach for a while, or written to by a readout or by somebody else."""

import contextlib
import json
import time
from collections.abc import Callable, Iterator, Sequence
from itertools import takewhile
from typing import TYPE_CHECKING, TypeVar

from comeback.cli.numbers import counted
from comeback.cli.prompt.reply import LEAVE
from comeback.cli.prompt.session import PromptSession, command_for
from comeback.cli.readers import Idle
from comeback.cli.screens import wording
from comeback.cli.screens.event_text import event_text
from comeback.cli.signals import Stopped, caught
from comeback.engine.case.events import Draft, Event, Kind, chain
from comeback.engine.case.facts import Answered, ConditionNamed, fact_of
from comeback.engine.case_log.protocol import CaseLogError, CaseMovedOn, LogUnreachable
from comeback.engine.walk.walk import Walk

if TYPE_CHECKING:
    from comeback.engine.case_log.store import SqlCaseLog

PAUSES = (0.2, 0.5, 1.0, 2.0)
"""Seconds before each try that nobody has to ask for."""
PATIENCE = 5.0
"""Seconds after which trying is left to the user: a try alone can take that long."""
Done = TypeVar("Done")
BESIDE = frozenset({Kind.EVIDENCE, Kind.CONDITION, Kind.NOTED})
"""Kinds of events that another may record beside an open step; answers of a readout too."""
DECISIONS = frozenset({Kind.ADVISED, Kind.SOLVED, Kind.READ_BACK, Kind.HANDED_OVER, Kind.CLOSED, Kind.OVERRIDDEN})
"""What was decided on what was known: it is decided again when more is known."""
NAMED = 3
"""Answers or findings that are named; the others are counted."""
NOT_RECORDED = " What you typed is not saved yet: check the step again."
TRIES = 3


class Unrecorded(CaseLogError):
    """The walk was left with an answer that no log took; the message names it and the command that goes on."""


def insist(session: PromptSession, walk: Walk, drafts: Sequence[Draft], write: Callable[[], Done]) -> Done:
    """What `write` returns, at last; while it raises LogUnreachable it is tried again, first soon, then at Enter.

    `drafts` is what it records, for the message. Raises Unrecorded if the user leaves, or nobody can be asked.
    """
    try:
        return write()
    except LogUnreachable as error:
        first = str(error)
    what = not_recorded(walk, drafts)
    session.say(f"NOT SAVED YET: {what}. Your answer is kept here; trying again now.")
    session.say(first)
    opened, command = walk.case.id not in ("", "-"), command_for(walk.audience)
    later = f"; later: comeback {command} {walk.case.id}" if opened else ""
    farewell = f"{wording.UNRECORDED}\n{wording.GO_ON if opened else wording.BEGIN_AGAIN}"
    farewell = farewell.format(what=what, command=command, case=walk.case.id)
    try:
        for _ in _tries(session, walk, "Enter tries again   q leaves (write it down)" + later):
            with contextlib.suppress(LogUnreachable):
                done = write()
                session.say(f"Saved: {what}.")
                return done
    except Stopped:
        caught()
        with contextlib.suppress(OSError):  # the terminal may be gone
            for line in farewell.splitlines():
                session.say(line)
        raise
    raise Unrecorded(farewell)


def _tries(session: PromptSession, walk: Walk, question: str) -> Iterator[None]:
    """One turn for each try: soon at first, then each time the user wants one; it ends when the user leaves."""
    end = time.monotonic() + PATIENCE
    for pause in takewhile(lambda _: time.monotonic() < end, PAUSES):
        time.sleep(pause)
        yield
    while session.reader.interactive:
        session.say(question)
        try:
            typed = session.reader.ask(walk).strip().lower()
        except Idle:
            typed = ""
        except (EOFError, KeyboardInterrupt):
            return
        if typed in LEAVE:
            return
        if not typed:
            yield


def not_recorded(walk: Walk, drafts: Sequence[Draft]) -> str:
    """The drafts in words; what only makes room for others is not named."""
    told = []
    for draft in drafts:
        text = event_text(walk.knowledge, chain("", 1, draft, walk.knowledge.version, ""), NAMED)
        said = [part for part in draft.payload.values() if isinstance(part, str)]
        text = f"{text}: {', '.join(said)}" if text == draft.kind and said else text
        told += [text] if draft.kind != Kind.TAKEN_BACK else []
    return "; ".join(told) or "the way back"


def append_behind(walk: Walk, log: "SqlCaseLog", drafts: Sequence[Draft]) -> tuple[Walk, str, bool]:
    """(the walk afterwards, a sentence about what came in meanwhile or empty, whether `drafts` were recorded).

    Raises CaseLogError; CaseMovedOn only if the case goes on moving while this is tried.
    """
    before = walk
    for _ in range(TRIES):
        try:
            done = walk.after(log.append(walk.case.id, walk.case.last, drafts, walk.knowledge.version))
        except CaseMovedOn:
            walk = walk.after(log.events(walk.case.id)[walk.case.last :])
            came = walk.events[len(before.events) :]
            if [*map(_content, drafts)] == [*map(_content, came)]:  # it broke off once they were recorded
                return walk, "", True
            beside = all(e.kind in BESIDE or getattr(fact_of(e), "by_readout", None) for e in came)
            decided = any(draft.kind in DECISIONS for draft in drafts)
            if not beside or decided or _settled(came) & _settled(drafts):  # the drafts may mean something else now
                return walk, f"{came_in(walk, came)}{NOT_RECORDED}", False
        else:
            return done, came_in(walk, walk.events[len(before.events) :]), True
    raise CaseMovedOn(f"Case {walk.case.id} keeps changing. Open it again to continue.")


def came_in(walk: Walk, came: Sequence[Event]) -> str:
    """What others recorded, in one sentence; empty if nothing."""
    if not came:
        return ""
    people, checks = ", ".join(dict.fromkeys(event.by for event in came)), walk.knowledge.checks
    answers = [fact.results for fact in map(fact_of, came) if isinstance(fact, Answered)]
    results = {check: result for answer in answers for check, result in answer.items() if check in checks}
    telling = [check for check, result in results.items() if result not in (None, checks[check].expected)]
    named = [f"{checks[c].name}: {checks[c].results.get(str(results[c]), results[c])}" for c in telling[:NAMED]]
    left = len(results) - len(named)
    parts = [*named, *([counted(left, "more finding")] if left else [])]
    source = "a readout" if any(event.kind == Kind.EVIDENCE for event in came) else "another window"
    other = "" if parts else f" {counted(len(came), 'entry', 'entries')}"
    return f"New since then from {source} ({people}):{other} {'; '.join(parts)}".rstrip() + "."


def _content(entry: Draft | Event) -> tuple[str, str, str, str]:
    """What two entries have in common if one is the other, recorded."""
    return entry.kind, entry.at, entry.by, json.dumps(dict(entry.payload), sort_keys=True, default=list)


def _settled(entries: Sequence[Draft | Event]) -> set[str]:
    """Checks and features of the car that were answered."""
    facts = [*map(fact_of, entries)]
    features = {fact.feature for fact in facts if isinstance(fact, ConditionNamed)}
    return features.union(*(fact.results for fact in facts if isinstance(fact, Answered)))
