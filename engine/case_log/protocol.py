"""What can go wrong with a case log, a case in a list, and how a case gets its short id."""

from collections.abc import Callable
from dataclasses import dataclass

from comeback.engine.case.events import Event
from comeback.engine.errors import EngineError

LETTERS = "ACDEFHJKLMNPRTWXY3479"
"""Signs of a case id: none that is mistaken for another when read aloud or written by hand."""
ID_LENGTH = 4


class CaseLogError(EngineError):
    """The log cannot be opened, read or written; the message says which and what to do."""


class LogUnreachable(CaseLogError):
    """The log cannot be reached or written just now (server away, file locked, disk full); later it may be."""


class NoSuchCase(CaseLogError):
    """No case has this id."""


class DamagedCase(CaseLogError):
    """The events of this case are not as they were written, and make no case now."""


class CaseMovedOn(CaseLogError):
    """Somebody else recorded something in this case meanwhile."""


@dataclass(frozen=True)
class CaseLine:
    """One case in a list: its first and last event."""

    id: str
    opened: Event
    last: Event


def new_id(choose: Callable[[str], str]) -> str:
    """A random case id, four characters: 194,481 different ones."""
    return "".join(choose(LETTERS) for _ in range(ID_LENGTH))
