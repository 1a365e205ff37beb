"""What each kind of event says, typed; `fact_of` is the one place that reads the plain data in which it is stored.

A field that the data lacks has its default. Keys without a field here are details of who wrote them, and stay in the
event's payload.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import cache
from typing import Any

from comeback.engine.case.events import Draft, Event, Kind
from comeback.kb.vocabulary import Audience


@dataclass(frozen=True)
class Opened:
    """A case was begun for this car (as the customer names it) by this reader, in this shop."""

    car: str = ""
    audience: Audience = Audience.PHONE
    shop: str = ""


@dataclass(frozen=True)
class ServiceNamed:
    """The service that was done before, and those done together with it; None: this audience could not tell."""

    service: str | None
    also: tuple[str, ...] = ()
    unknown_to: Audience | None = None

    @property
    def all(self) -> tuple[str, ...]:
        """Every service named."""
        return (self.service, *self.also) if self.service else self.also


@dataclass(frozen=True)
class ComplaintNamed:
    """What the customer complains of, the main one first, and in which words; `further`: besides what was named."""

    complaint: str
    words: str = ""
    also: tuple[str, ...] = ()
    further: bool = False

    @property
    def all(self) -> tuple[str, ...]:
        """Every complaint named, the main one first."""
        return (self.complaint, *self.also)


@dataclass(frozen=True)
class ConditionNamed:
    """What the car has for a feature; None if nobody could tell."""

    feature: str
    value: str | None


@dataclass(frozen=True)
class Answered:
    """The results of one screen, None for "don't know"; `readings` as typed, `codes` the trouble codes read.

    `since`: when and by whom answers were given that a correction of another one left as they were.
    """

    results: Mapping[str, str | None]
    readings: Mapping[str, str] = field(default_factory=dict)
    audience: Audience = Audience.BAY
    again: bool = False
    codes: tuple[str, ...] = ()
    since: Mapping[str, tuple[str, str]] = field(default_factory=dict)


@dataclass(frozen=True)
class TakenBack:
    """Event `number` counts no longer; `why` is empty after going back."""

    number: int
    why: str = ""


@dataclass(frozen=True)
class Noted:
    """A note."""

    text: str


@dataclass(frozen=True)
class Advised:
    """The call ended with this advice; `agreed`: the caller said yes to it."""

    disposition: str
    agreed: bool | None = None


@dataclass(frozen=True)
class Solved:
    """The call ended with what the caller did alone: the `check` that showed it, and the `repair` it stands in for.

    `causes` are those it settled, the likeliest first.
    """

    disposition: str
    check: str
    repair: str
    causes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Refused:
    """The caller will not do it, in these words."""

    disposition: str
    words: str


@dataclass(frozen=True)
class ReadBack:
    """The advice was read back, and the caller said yes or no."""

    disposition: str
    agreed: bool


@dataclass(frozen=True)
class Warned:
    """A stop screen was passed with this word."""

    stop: str = ""
    word: str = ""


@dataclass(frozen=True)
class CalledAgain:
    """The customer called again about the same car."""


@dataclass(frozen=True)
class Driving:
    """If the caller is driving; None if that could not be told."""

    driving: bool | None


@dataclass(frozen=True)
class Registered:
    """The registration; `read_back`: typed twice, the same."""

    registration: str
    read_back: bool = True


@dataclass(frozen=True)
class Contact:
    """The number to call back on, or where the car is; None for what was not said."""

    phone: str | None = None
    place: str | None = None


@dataclass(frozen=True)
class Said:
    """Words of a later call."""

    words: str


@dataclass(frozen=True)
class Renamed:
    """The car is called by another name."""

    car: str


@dataclass(frozen=True)
class Given:
    """The case was given to a person in the bay."""

    to: str


@dataclass(frozen=True)
class Overridden:
    """A person set another disposition than the one ruled, why, and who agreed to a milder one."""

    ruled: str
    to: str
    reason: str
    second: str = ""


@dataclass(frozen=True)
class Repaired:
    """A repair was done."""

    repair: str


@dataclass(frozen=True)
class Skipped:
    """A repair was passed over."""

    repair: str


@dataclass(frozen=True)
class HandedOver:
    """The car goes to a specialist, why."""

    reason: str = ""


@dataclass(frozen=True)
class TakenOver:
    """The bay went on with the case."""


@dataclass(frozen=True)
class Closed:
    """How the case ended: complaint, causes, repairs, those that were unneeded; `proven`: the proof held.

    `cause_named` is how a person named the cause, `cause_words` one that is not listed.
    """

    complaint: str = ""
    words: str = ""
    causes: tuple[str, ...] = ()
    repairs: tuple[str, ...] = ()
    in_vain: tuple[str, ...] = ()
    proven: bool | None = None
    cause_named: str = ""
    cause_words: str = ""


Fact = (
    Opened | ServiceNamed | ComplaintNamed | ConditionNamed | Answered | TakenBack | Noted | Advised | Refused
    | Solved | ReadBack | Warned | CalledAgain | Driving | Registered | Contact | Said | Renamed | Given | Overridden
    | Repaired | Skipped | HandedOver | TakenOver | Closed
)  # fmt: skip
_FACTS: Mapping[str, type[Fact]] = {
    Kind.OPENED: Opened, Kind.SERVICE: ServiceNamed, Kind.COMPLAINT: ComplaintNamed, Kind.CONDITION: ConditionNamed,
    Kind.ANSWERED: Answered, Kind.TAKEN_BACK: TakenBack, Kind.NOTED: Noted, Kind.ADVISED: Advised, Kind.SOLVED: Solved,
    Kind.REFUSED: Refused, Kind.READ_BACK: ReadBack, Kind.WARNED: Warned, Kind.CALLED_AGAIN: CalledAgain,
    Kind.DRIVING: Driving, Kind.REGISTERED: Registered, Kind.CONTACT: Contact, Kind.SAID: Said,
    Kind.RENAMED: Renamed, Kind.GIVEN: Given, Kind.OVERRIDDEN: Overridden, Kind.REPAIRED: Repaired,
    Kind.SKIPPED: Skipped, Kind.HANDED_OVER: HandedOver, Kind.TAKEN_OVER: TakenOver, Kind.CLOSED: Closed,
}  # fmt: skip
_AUDIENCES = ("audience", "unknown_to")


def fact_of(event: Event | Draft) -> Fact | None:
    """What the event says; None for a kind that says nothing of the case (what the car said is its own data).

    Raises TypeError if a field without default is missing, ValueError for an audience that there is none of.
    """
    made, data = _FACTS.get(event.kind), event.payload
    if made is None:
        return None
    given = {name: _typed(name, data[name]) for name in _names(event.kind) if name in data}
    return made(**{name: value for name, value in given.items() if value != "" or name not in _AUDIENCES})


@cache
def _names(kind: str) -> tuple[str, ...]:
    return tuple(one.name for one in fields(_FACTS[kind]))


def _typed(name: str, value: Any) -> Any:
    if name in _AUDIENCES:
        return Audience(value) if value else ""
    return tuple(value) if isinstance(value, list) else value
