"""Cases between logs as JSON lines: a head line, then one case a line with all its events.

A case is known everywhere by the hash of its first event where it was opened, so nothing comes in
twice. If its id is taken here it gets another one, and its events are chained anew under that id.
"""

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import sqlalchemy as sa

from comeback.engine.case.events import Draft, Event, first_broken_link
from comeback.engine.case_log.fields import name_to_keep
from comeback.engine.case_log.import_checks import Bad, Parcel, read_parcel
from comeback.engine.case_log.nameless import MARK, without_names
from comeback.engine.case_log.protocol import CaseLogError, new_id
from comeback.engine.case_log.rows import plain_event
from comeback.engine.case_log.store import SqlCaseLog, add_events, chained, events_of, gone, hash_at
from comeback.engine.case_log.tables import DELETED, EVENTS, SOURCE, take_turns
from comeback.engine.case_log.upkeep import identity_of
from comeback.engine.safe_text import as_json, harmless

FORMAT = "comeback-cases"
VERSION = 1


@dataclass(frozen=True)
class Grown:
    """A case of this log that an import added events to: how many, by the names that the file gives."""

    case: str
    entries: int
    names: tuple[str, ...]


@dataclass
class Received:
    """What an import did: ids of new cases (as they are called here), grown ones, how many were known."""

    new: list[str] = field(default_factory=list)
    grown: list[Grown] = field(default_factory=list)
    known: int = 0
    refused: list[str] = field(default_factory=list)


def export_lines(log: SqlCaseLog, cases: Sequence[str] = (), shop: str = "", nameless: bool = False) -> Iterator[str]:
    """Lines of the named cases (all if none is named). `shop` is said of cases that do not name theirs.

    A case is exported as it is recorded. `nameless`: without anything that names a person, chained anew as a case
    of its own.
    """
    yield as_json({"format": FORMAT, "version": VERSION})
    for name in cases or sorted(line.id for line in log.cases()):
        with log.reading() as connection:
            events = log.as_they_are(connection, name)
            identity = identity_of(connection, name)
            source = connection.execute(sa.select(SOURCE.c.shop).where(SOURCE.c.case_id == name)).scalar()
        whose = harmless(str(events[0].payload.get("shop") or source or shop or log.shop))
        if nameless and first_broken_link(events) is not None:
            raise CaseLogError(
                f"{log.name}: case {name} is not as it was written (comeback cases verify), so nothing can vouch for "
                "it without its names. Name the cases to export, without this one."
            )
        made = _nameless(events) if nameless else events
        if nameless and MARK not in events[0].payload:
            identity = made[0].hash
        record = {"case": name, "identity": identity, "shop": whose, "events": [plain_event(e) for e in made]}
        yield as_json(record)


def import_lines(
    log: SqlCaseLog, lines: Iterable[str], name: str, choose: Callable[[str], str], shop: str = ""
) -> Received:
    """Take in every case of the lines; each is taken whole or refused with its reason.

    `name` of the file for messages; `choose` picks a sign of an id. Raises CaseLogError if the head
    line is not there, so that another kind of file is not taken for cases; NotStorable for a shop too long.
    """
    shop = name_to_keep("shop", shop)
    received, numbered = Received(), enumerate(lines, 1)
    _, first = next(numbered, (0, ""))
    _check_head(first, name)
    for number, line in numbered:
        if not line.strip():
            continue
        try:
            parcel = read_parcel(line)
            with log.transaction() as connection:
                _take_in(connection, parcel, parcel.shop or shop, choose, received)
        except Bad as error:
            received.refused.append(f"{name}:{number}: {error}")
        except RecursionError:
            received.refused.append(f"{name}:{number}: the case is nested too deeply")
    return received


def _check_head(line: str, name: str) -> None:
    try:
        head: Any = json.loads(line)
    except (ValueError, RecursionError):
        head = None
    if not isinstance(head, dict) or head.get("format") != FORMAT:
        raise CaseLogError(f"{name}:1: this is not a file of cases. Make one with: comeback cases export FILE")
    if head.get("version") != VERSION:
        raise CaseLogError(f"{name}:1: the file was written by a newer version of this program. Update the program.")


def _take_in(
    connection: sa.Connection, parcel: Parcel, shop: str, choose: Callable[[str], str], received: Received
) -> None:
    """Add the case of the parcel, or the events by which it has grown here. Raises Bad."""
    take_turns(connection)  # or two imports of one file at the same time would both find the case new
    buried = sa.select(DELETED.c.case_id).where(DELETED.c.identity == parcel.identity)
    if connection.execute(buried).first():
        raise Bad(f"case {parcel.case} was deleted here and stays deleted")
    here = _local_id(connection, parcel.identity)
    if here is not None:
        _grow(connection, here, parcel, received)
        return
    if _is_here_otherwise(connection, parcel):
        received.known += 1
        return
    name = _free_id(connection, parcel.case, choose)
    if shop or name != parcel.case or parcel.identity != parcel.events[0].hash:
        connection.execute(SOURCE.insert().values(case_id=name, shop=shop, identity=parcel.identity))
    made = parcel.events if name == parcel.case else _anew(name, parcel.events)
    add_events(connection, made, shop)
    received.new.append(name)


def _grow(connection: sa.Connection, here: str, parcel: Parcel, received: Received) -> None:
    """Events that were recorded elsewhere since; refused if both sides went on differently."""
    ours = events_of(connection, here)
    for one, other in zip(ours, parcel.events, strict=False):
        if one != replace(other, case=here, previous=one.previous, hash=one.hash):
            raise Bad(f"case {here} went on differently here from event {one.number} on; ours is kept")
    fresh = parcel.events[len(ours) :]
    if not fresh:
        received.known += 1
        return
    add_events(connection, _anew(here, fresh, ours[-1].hash, len(ours)))
    received.grown.append(Grown(here, len(fresh), tuple(dict.fromkeys(event.by for event in fresh))))


def _is_here_otherwise(connection: sa.Connection, parcel: Parcel) -> bool:
    """True for a case without names that is here with them. The other way round it is refused: counted twice.

    Raises Bad.
    """
    bare = _nameless(parcel.events[:1])[0].hash
    if MARK in parcel.events[0].payload:
        ours = events_of(connection, parcel.case)[:1]
        return bool(ours) and _nameless(ours)[0].hash == bare
    twin = _local_id(connection, bare)
    if twin is not None:
        raise Bad(
            f"case {twin} is this one without names. To take it in with them, first: "
            f"comeback cases delete {twin} --forget-learned"
        )
    return False


def _anew(name: str, events: Sequence[Event], previous: str = "", after: int = 0) -> list[Event]:
    """The events chained under this id, after number `after`, whose hash is `previous`."""
    drafts = ((Draft(event.kind, event.at, event.by, event.payload), event.knowledge) for event in events)
    return chained(name, drafts, previous, after)


def _nameless(events: Sequence[Event]) -> list[Event]:
    return _anew(events[0].case, [without_names(event) for event in events])


def _local_id(connection: sa.Connection, identity: str) -> str | None:
    renamed = sa.select(SOURCE.c.case_id).where(SOURCE.c.identity == identity)
    native = sa.select(EVENTS.c.case_id).where(EVENTS.c.hash == identity, EVENTS.c.number == 1)
    found: str | None = connection.execute(renamed).scalar() or connection.execute(native).scalar()
    return found


def _free_id(connection: sa.Connection, wanted: str, choose: Callable[[str], str]) -> str:
    """The wanted id, or another one if it is taken."""
    for name in (wanted, *(new_id(choose) for _ in range(50))):
        if hash_at(connection, name, 1) is None and not gone(connection, name):
            return name
    raise Bad("no free case id was found; take it into a new log with --log")
