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
        first = error
    what = not_recorded(walk, drafts)
    for text in (wording.UNREACHED.format(what=what), str(first)):
        session.say(text)
    for _ in _tries(session, walk, what):
        with contextlib.suppress(LogUnreachable):
            done = write()
            session.say(wording.REACHED.format(what=what))
            return done
    raise Unrecorded(_farewell(walk, what))


def _tries(session: PromptSession, walk: Walk, what: str) -> Iterator[None]:
    """One turn for each try; it ends when the user leaves."""
    end = time.monotonic() + PATIENCE
    for pause in takewhile(lambda _: time.monotonic() < end, PAUSES):
        time.sleep(pause)
        yield
    while session.reader.interactive and _goes_on(session, walk, what):
        yield


def _goes_on(session: PromptSession, walk: Walk, what: str) -> bool:
    """Ask; True if it is to be tried once more."""
    while True:
        later = wording.LATER.format(command=command_for(walk.audience), case=walk.case.id) if _opened(walk) else ""
        session.say(wording.STILL_UNREACHED + later)
        try:
            typed = session.reader.ask(walk).strip().lower()
        except Idle:
            return True
        except (EOFError, KeyboardInterrupt):
            return False
        except Stopped:
            caught()
            with contextlib.suppress(OSError):  # the terminal may be gone
                for line in _farewell(walk, what).splitlines():
                    session.say(line)
            raise
        if not typed or typed in LEAVE:
            return not typed


def not_recorded(walk: Walk, drafts: Sequence[Draft]) -> str:
    """The drafts in words; what only makes room for others is not named."""
    return "; ".join(_text(walk, draft) for draft in drafts if draft.kind != Kind.TAKEN_BACK) or "the way back"


def _text(walk: Walk, draft: Draft) -> str:
    text = event_text(walk.knowledge, chain("", 1, draft, walk.knowledge.version, ""), NAMED)
    said = [part for part in draft.payload.values() if isinstance(part, str)]
    return f"{text}: {', '.join(said)}" if text == draft.kind and said else text


def _farewell(walk: Walk, what: str) -> str:
    text = f"{wording.UNRECORDED}\n{wording.GO_ON if _opened(walk) else wording.BEGIN_AGAIN}"
    return text.format(what=what, command=command_for(walk.audience), case=walk.case.id)


def _opened(walk: Walk) -> bool:
    return walk.case.id not in ("", "-")
