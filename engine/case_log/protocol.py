"""What a case log must do in any kind of storage, and how a case gets its short id."""

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Protocol

from comeback.engine.case.events import Draft, Event
from comeback.engine.errors import EngineError

LETTERS = "ACDEFHJKLMNPRTWXY3479"
"""Signs of a case id: none that is mistaken for another when read aloud or written by hand."""
ID_LENGTH = 4
TRIES = 20
"""Times an entry is put at the end of a case anew, because another writer came before it."""


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


class CaseLog(Protocol):
    """Append-only store of events, ordered and hash-chained within each case; `name` says which in messages."""

    name: str

    def open_case(self, draft: Draft, knowledge: str, choose: Callable[[str], str]) -> Event:
        """Record the first event of a new case under a new id; `choose` picks a sign of LETTERS."""

    def append(self, case: str, after: int, drafts: Sequence[Draft], knowledge: str) -> tuple[Event, ...]:
        """Record events after number `after`, all or none. Raises CaseMovedOn, NoSuchCase."""

    def events(self, case: str) -> tuple[Event, ...]:
        """All events of a case in order. Raises NoSuchCase."""

    def events_of_kinds(self, kinds: Sequence[str]) -> dict[str, list[Event]]:
        """The events of these kinds by case, in order, unchecked: to search by, not to build on."""

    def cases(self) -> tuple[CaseLine, ...]:
        """All cases, the latest touched first."""

    def close(self) -> None:
        """Let go of it."""


def append_at_end(log: CaseLog, case: str, draft: Draft) -> Event:
    """Record what harms no other entry, as a note, at the end of a case that others may be writing in.

    Raises NoSuchCase, LogUnreachable; CaseMovedOn only if they never stop.
    """
    for _ in range(TRIES):
        last = log.events(case)[-1]
        with suppress(CaseMovedOn):
            return log.append(case, last.number, [draft], last.knowledge)[0]
    raise CaseMovedOn(f"Case {case} keeps changing. Try again.")


def new_id(choose: Callable[[str], str]) -> str:
    """A random case id, four characters: 194,481 different ones."""
    return "".join(choose(LETTERS) for _ in range(ID_LENGTH))
