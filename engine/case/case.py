"""The state of one car's comeback, computed from its append-only list of events.

Nothing is ever changed in place: a correction is a new event that takes an earlier one back.
`Case` is the state after the events that count; undo, resume, audit and export work on the same list.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from comeback.engine.belief.network import Vehicle
from comeback.engine.case import facts
from comeback.engine.case.car_words import drive_named
from comeback.engine.case.events import INSTEAD_OF, TOLD, Event, Kind
from comeback.engine.case.facts import Answered, Closed, TakenBack, fact_of
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


WORDS_APART = " / "
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
    """The state of a case after its events. `car` is the car as the customer named it; notes are (at, by, text).

    `told` is every advice that was read out, in order; `disposition` the one the call ended with, None again
    from the next call on, whose event has the number `again`. `said` are words of later calls, as notes are.
    `further` are complaints beside `complaint`, the main one; `named` is the number of the event that named the last.
    `unconfirmed` are registrations that were typed only once. `also` are services done together with `service`;
    `service_unknown` is the audience that could not tell it.
    `solved`: how a call made the visit needless, until the customer calls again or comes in.
    """

    id: str = ""
    car: str = ""
    opened_at: str = ""
    words: str = ""
    service: str | None = None
    also: tuple[str, ...] = ()
    service_unknown: Audience | None = None
    complaint: str | None = None
    further: tuple[str, ...] = ()
    named: int = 0
    vehicle: Vehicle = ()
    unknown_conditions: frozenset[str] = frozenset()
    answers: tuple[Answer, ...] = ()
    repairs: tuple[Done, ...] = ()
    skipped: frozenset[str] = frozenset()
    notes: tuple[tuple[str, str, str], ...] = ()
    disposition: str | None = None
    handed_over: str | None = None
    waits: bool = False
    """It was handed over because nothing shows now."""
    solved: facts.Solved | None = None
    closed: Closed | None = None
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
    def complaints(self) -> tuple[str, ...]:
        """All that the customer complains of, the main one first; none while it is not known."""
        return (self.complaint, *self.further) if self.complaint else ()

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


def joined_words(*texts: str) -> str:
    """The customer's own words, each of them once, in order."""
    parts = (part for text in texts for part in text.split(WORDS_APART))
    return WORDS_APART.join(dict.fromkeys(part for part in parts if part))


def read_case(events: Iterable[Event]) -> Case:
    """The state after these events; those taken back do not count."""
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
    gone = taken_back(events)
    place = {event.number: event.number for event in events}
    for event in events:
        if INSTEAD_OF in event.payload:
            place[event.number] = place[event.payload[INSTEAD_OF]]
    return sorted((event for event in events if event.number not in gone), key=lambda event: place[event.number])


def taken_back(events: Iterable[Event]) -> set[int]:
    """Numbers of the events that count no longer."""
    return {fact.number for fact in map(fact_of, events) if isinstance(fact, TakenBack)}


def _after(case: Case, event: Event) -> Case:
    who = (event.at, event.by)
    match fact_of(event):
        case facts.Opened(car, audience):
            return _called(replace(case, opened_at=event.at, audience=audience), car)
        case facts.ServiceNamed(service, also, unknown_to):
            return replace(case, service=service, also=also, service_unknown=unknown_to)
        case facts.ComplaintNamed() as named:
            return replace(_complaining(case, named), named=event.number)
        case facts.ConditionNamed(feature, value):
            return _with_condition(case, feature, value)
        case Answered() as answered:
            return replace(case, answers=(*case.answers, *_answers(case, event, answered)))
        case facts.Repaired(repair):
            return replace(case, repairs=(*case.repairs, Done(repair, case.epoch + 1, event.number, *who)))
        case facts.Skipped(repair):
            return replace(case, skipped=case.skipped | {repair})
        case facts.Noted(text):
            return replace(case, notes=(*case.notes, (*who, text)))
        case facts.Driving(driving):
            return replace(case, driving=driving)
        case facts.Registered(registration, read_back) if read_back:
            return replace(case, registration=registration, unconfirmed=())
        case facts.Registered(registration):  # typed only once, it changes nothing that was confirmed
            return replace(case, unconfirmed=(*case.unconfirmed, registration))
        case facts.Contact(phone, place):
            return replace(
                case, phone=case.phone if phone is None else phone, place=case.place if place is None else place
            )
        case facts.Said(words):
            return replace(case, said=(*case.said, (*who, words)))
        case facts.Renamed(car):
            return _called(case, car)
        case facts.Given(to):
            return replace(case, given_to=to)
        case facts.Overridden(ruled, to, reason, second):
            made = Override(ruled, to, reason, second, *who, event.number)
            return replace(case, overrides=(*case.overrides, made))
        case facts.TakenOver():
            # what the caller could not tell of the car, the bay can see
            unknown = case.unknown_conditions if case.audience is Audience.BAY else frozenset()
            case = replace(case, handed_over=None, given_to="", solved=None)
            return replace(case, audience=Audience.BAY, unknown_conditions=unknown)
        case facts.HandedOver(reason, waits=waits):
            return replace(case, handed_over=reason, waits=waits)
        case Closed() as closed:
            return replace(case, closed=closed)
    return _after_telling(case, event)


def _after_telling(case: Case, event: Event) -> Case:
    """What the caller heard of the advice; events of other stop screens tell nothing."""
    match fact_of(event):
        case facts.Advised(disposition, agreed):
            case = replace(case, disposition=disposition, read_back=agreed, solved=None)
            return _heard(case, event, disposition, AGREED)
        case facts.Solved(disposition, repair=repair) as solved:
            done = Done(repair, case.epoch + 1, event.number, event.at, event.by)
            case = replace(case, disposition=disposition, read_back=True, solved=solved, repairs=(*case.repairs, done))
            return _heard(case, event, disposition, AGREED)
        case facts.Refused(disposition, words):
            case = replace(case, disposition=disposition, read_back=False, solved=None)
            return _heard(case, event, disposition, NOT_TAKEN, words)
        case facts.ReadBack(disposition, agreed):
            return replace(case if agreed else _heard(case, event, disposition, NOT_AGREED), read_back=agreed)
        case facts.CalledAgain():
            return replace(case, disposition=None, read_back=None, solved=None, again=event.number)
        case facts.Warned(stop, word) if word == TOLD:
            return _heard(case, event, stop, READ_OUT)
    return case


def _complaining(case: Case, named: facts.ComplaintNamed) -> Case:
    """Complaints named later come behind those named before, their words too."""
    if not named.further or not case.complaint:
        return replace(case, complaint=named.complaint, further=named.also, words=named.words)
    _, *further = dict.fromkeys((*case.complaints, *named.all))
    return replace(case, further=tuple(further), words=joined_words(case.words, named.words))


def _called(case: Case, car: str) -> Case:
    """The car by this description, which may say what drives it."""
    drive = drive_named(car)
    return _with_condition(replace(case, car=car), "drive", drive) if drive else replace(case, car=car)


def _heard(case: Case, event: Event, disposition: str, how: str, words: str = "") -> Case:
    told = Told(disposition, how, event.at, event.by, event.number, words)
    return replace(case, told=(*case.told, told))


def _answers(case: Case, event: Event, told: Answered) -> Iterator[Answer]:
    """The findings of one screen; those that a correction left as they were keep their time and person."""
    for check, result in told.results.items():
        at, by = told.since.get(check, (event.at, event.by))
        reading = told.readings.get(check, "")
        yield Answer(check, result, case.epoch, event.number, at, by, told.audience, reading, told.again)


def _with_condition(case: Case, feature: str, value: str | None) -> Case:
    if value is None:
        return replace(case, unknown_conditions=case.unknown_conditions | {feature})
    return replace(case, vehicle=tuple(sorted({**dict(case.vehicle), feature: value}.items())))
