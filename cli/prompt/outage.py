"""The log out of reach in the middle of a walk: what was typed is kept, and recorded as soon as the log is back."""

import contextlib
import time
from collections.abc import Callable, Iterator, Sequence
from itertools import takewhile
from typing import TypeVar

from comeback.cli.prompt.reply import LEAVE
from comeback.cli.prompt.session import PromptSession, command_for
from comeback.cli.readers import Idle
from comeback.cli.screens import wording
from comeback.cli.screens.event_text import event_text
from comeback.cli.signals import Stopped, caught
from comeback.engine.case.events import Draft, Kind, chain
from comeback.engine.case_log.protocol import CaseLogError, LogUnreachable
from comeback.engine.walk.walk import Walk

PAUSES = (0.2, 0.5, 1.0, 2.0)
"""Seconds before each try that nobody has to ask for."""
PATIENCE = 5.0
"""Seconds after which trying is left to the user: a try alone can take that long."""
NAMED = 3
"""Answers of one screen that are named; the others are counted."""
Done = TypeVar("Done")


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
    session.say(wording.UNREACHED.format(what=what))
    session.say(first)
    opened, command = walk.case.id not in ("", "-"), command_for(walk.audience)
    later = wording.LATER.format(command=command, case=walk.case.id) if opened else ""
    farewell = f"{wording.UNRECORDED}\n{wording.GO_ON if opened else wording.BEGIN_AGAIN}"
    farewell = farewell.format(what=what, command=command, case=walk.case.id)
    try:
        for _ in _tries(session, walk, wording.STILL_UNREACHED + later):
            with contextlib.suppress(LogUnreachable):
                done = write()
                session.say(wording.REACHED.format(what=what))
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
