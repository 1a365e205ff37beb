"""One car's comeback as an append-only list of events, and what the list amounts to.

Nothing is ever changed in place: a correction is a new event that takes an earlier one back.
`Case` is a reading of the list; undo, resume, audit and export are other readings of it.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from comeback.engine.belief.network import Vehicle
from comeback.engine.case.events import INSTEAD_OF, TOLD, Event, Kind
from comeback.kb.vocabulary import Audience


@dataclass(frozen=True)
class Answer:
    """A finding: the result of a check, None for "don't know", in the epoch counted by repairs done.

    `again`: a second look at what was found before; where they differ, only the second counts.
    """

    check: str
    result: str | None
    epoch: int
    number: int
    at: str
    by: str
    audience: Audience
    reading: str = ""
    again: bool = False


@dataclass(frozen=True)
class Done:
    """A repair done as the `epoch`-th of the case."""

    repair: str
    epoch: int
    number: int
    at: str
    by: str


@dataclass(frozen=True)
class Override:
    """A person set another disposition than the ruling: `ruled` then, `to` now, why, and who agreed (down only)."""

    ruled: str
    to: str
    reason: str
    second: str
    at: str
    by: str
    number: int = 0


AGREED, NOT_AGREED, READ_OUT, NOT_TAKEN = "agreed", "not agreed", "read out", "refused"


@dataclass(frozen=True)
class Told:
    """An advice that the caller heard, and how it ended: AGREED, NOT_AGREED, only READ_OUT so far, or NOT_TAKEN.

    `words` are those of a refusal: who refused, and what was said.
    """

    disposition: str
    how: str
    at: str
    by: str
    number: int
    words: str = ""

    @property
    def ended(self) -> bool:
        """True if the call ended with it."""
        return self.how in (AGREED, NOT_TAKEN)


@dataclass(frozen=True)
class Case:
    """What the events amount to. `car` is the car as the customer named it; notes are (at, by, text).

    `told` is every advice that was read out, in order; `disposition` the one the call ended with, None again
    from the next call on, whose event has the number `again`. `said` are words of later calls, as notes are.
    `unconfirmed` are registrations that were typed only once. `also` are services done together with `service`;
    `service_unknown` is the audience that could not tell it.
    """

    id: str = ""
    car: str = ""
    opened_at: str = ""
    words: str = ""
    service: str | None = None
    also: tuple[str, ...] = ()
    service_unknown: Audience | None = None
    complaint: str | None = None
    vehicle: Vehicle = ()
    unknown_conditions: frozenset[str] = frozenset()
    answers: tuple[Answer, ...] = ()
    repairs: tuple[Done, ...] = ()
    skipped: frozenset[str] = frozenset()
    notes: tuple[tuple[str, str, str], ...] = ()
    disposition: str | None = None
    handed_over: str | None = None
    closed: Mapping[str, Any] | None = None
    audience: Audience = Audience.PHONE
    driving: bool | None = None
    registration: str = ""
    read_back: bool | None = None
    given_to: str = ""
    overrides: tuple[Override, ...] = ()
    told: tuple[Told, ...] = ()
    again: int = 0
    said: tuple[tuple[str, str, str], ...] = ()
    phone: str = ""
    place: str = ""
    unconfirmed: tuple[str, ...] = ()
    last: int = 0

    @property
    def services(self) -> tuple[str, ...]:
        """All services that were done together; none while it is not known."""
        return (self.service, *self.also) if self.service else ()

    @property
    def epoch(self) -> int:
        """How many repairs have been done."""
        return len(self.repairs)

    @property
    def last_told(self) -> Told | None:
        """The advice with which the latest call ended that came to an end."""
        return next((told for told in reversed(self.told) if told.ended), None)

    @property
    def refused(self) -> Told | None:
        """The advice that was refused last, unless one was agreed to since."""
        last = self.last_told
        return last if last is not None and last.how == NOT_TAKEN else None

    def answer(self, check: str, epoch: int | None = None) -> Answer | None:
        """The latest answer to `check`, in `epoch` if given."""
        found = [a for a in self.answers if a.check == check and epoch in (None, a.epoch)]
        return found[-1] if found else None


def read_case(events: Iterable[Event]) -> Case:
    """The case that the events amount to; taken-back events do not count."""
    events = list(events)
    case = Case()
    for event in standing(events):
        case = _after(case, event)
    return replace(case, id=events[-1].case, last=events[-1].number) if events else case


def further(case: Case, events: Sequence[Event]) -> Case | None:
    """The case with `events` at its end; None if one of them changes what came before, so that all must be read."""
    if any(event.kind == Kind.TAKEN_BACK or INSTEAD_OF in event.payload for event in events):
        return None
    for event in events:
        case = replace(_after(case, event), id=event.case, last=event.number)
    return case


def standing(events: Iterable[Event]) -> list[Event]:
    """The events that count: none that was taken back, corrections in the place of what they correct."""
    events = list(events)
    gone = {event.payload["number"] for event in events if event.kind == Kind.TAKEN_BACK}
    place = {event.number: event.number for event in events}
    for event in events:
        if INSTEAD_OF in event.payload:
            place[event.number] = place[event.payload[INSTEAD_OF]]
    return sorted((event for event in events if event.number not in gone), key=lambda event: place[event.number])


def _after(case: Case, event: Event) -> Case:
    data = event.payload
    match event.kind:
        case Kind.OPENED:
            reader = _audience(data) or Audience.PHONE
            return replace(case, car=data.get("car", ""), opened_at=event.at, audience=reader)
        case Kind.SERVICE:
            unknown = _audience(data, "unknown_to")
            return replace(case, service=data["service"], also=tuple(data.get("also", ())), service_unknown=unknown)
        case Kind.COMPLAINT:
            return replace(case, complaint=data["complaint"], words=data.get("words", ""))
        case Kind.CONDITION:
            return _with_condition(case, data["feature"], data["value"])
        case Kind.ANSWERED:
            return replace(case, answers=(*case.answers, *_answers(case, event)))
        case Kind.REPAIRED:
            done = Done(data["repair"], case.epoch + 1, event.number, event.at, event.by)
            return replace(case, repairs=(*case.repairs, done))
        case Kind.SKIPPED:
            return replace(case, skipped=case.skipped | {data["repair"]})
        case Kind.NOTED:
            return replace(case, notes=(*case.notes, (event.at, event.by, data["text"])))
        case Kind.ADVISED | Kind.READ_BACK | Kind.REFUSED | Kind.WARNED | Kind.CALLED_AGAIN:
            return _after_telling(case, event)
        case Kind.DRIVING:
            return replace(case, driving=data["driving"])
        case Kind.REGISTERED:
            return _with_registration(case, data["registration"], data.get("read_back", True))
        case Kind.CONTACT:
            return replace(case, phone=data.get("phone", case.phone), place=data.get("place", case.place))
        case Kind.SAID:
            return replace(case, said=(*case.said, (event.at, event.by, data["words"])))
        case Kind.RENAMED:
            return replace(case, car=data["car"])
        case Kind.GIVEN:
            return replace(case, given_to=data["to"])
        case Kind.OVERRIDDEN:
            who = (event.at, event.by, event.number)
            made = Override(data["ruled"], data["to"], data["reason"], data.get("second", ""), *who)
            return replace(case, overrides=(*case.overrides, made))
        case Kind.TAKEN_OVER:
            return replace(case, audience=Audience.BAY, handed_over=None, given_to="")
        case Kind.HANDED_OVER:
            return replace(case, handed_over=data.get("reason", ""))
        case Kind.CLOSED:
            return replace(case, closed=data)
    return case


def _after_telling(case: Case, event: Event) -> Case:
    """What the caller heard of the advice; events of other stop screens tell nothing."""
    data = event.payload
    match event.kind:
        case Kind.ADVISED:
            ended = replace(case, disposition=data["disposition"], read_back=data.get("agreed"))
            return _heard(ended, event, data["disposition"], AGREED)
        case Kind.REFUSED:
            ended = replace(case, disposition=data["disposition"], read_back=False)
            return _heard(ended, event, data["disposition"], NOT_TAKEN, data["words"])
        case Kind.READ_BACK:
            heard = case if data["agreed"] else _heard(case, event, data["disposition"], NOT_AGREED)
            return replace(heard, read_back=data["agreed"])
        case Kind.CALLED_AGAIN:
            return replace(case, disposition=None, read_back=None, again=event.number)
    return _heard(case, event, data["stop"], READ_OUT) if data.get("word") == TOLD else case


def _heard(case: Case, event: Event, disposition: str, how: str, words: str = "") -> Case:
    told = Told(disposition, how, event.at, event.by, event.number, words)
    return replace(case, told=(*case.told, told))


def _with_registration(case: Case, typed: str, confirmed: bool) -> Case:
    """One typed only once changes nothing that was confirmed."""
    if confirmed:
        return replace(case, registration=typed, unconfirmed=())
    return replace(case, unconfirmed=(*case.unconfirmed, typed))


def _answers(case: Case, event: Event) -> Iterator[Answer]:
    """The findings of one screen; those that a correction left as they were keep their time and person."""
    data = event.payload
    for check, result in data["results"].items():
        at, by = data.get("since", {}).get(check, (event.at, event.by))
        reading = data.get("readings", {}).get(check, "")
        yield Answer(
            check,
            result,
            case.epoch,
            event.number,
            at,
            by,
            _audience(data) or Audience.BAY,
            reading,
            data.get("again", False),
        )


def _audience(data: Mapping[str, Any], key: str = "audience") -> Audience | None:
    return Audience(data[key]) if data.get(key) else None


def _with_condition(case: Case, feature: str, value: str | None) -> Case:
    if value is None:
        return replace(case, unknown_conditions=case.unknown_conditions | {feature})
    return replace(case, vehicle=tuple(sorted({**dict(case.vehicle), feature: value}.items())))
