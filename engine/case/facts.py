"""What each kind of event says: one frozen dataclass for each kind, which is how it is written and read.

The types say what may leave the shop in a case without names: `Id`s, numbers and what is made of them do; `Name` and
plain text, which people said, do not. Keys of an event's data without a field here are ignored.
"""

from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field, fields
from functools import cache
from typing import Annotated, Any, ClassVar, get_args, get_origin, get_type_hints

from comeback.engine.case.events import TOLD, Draft, Event, Kind
from comeback.kb.vocabulary import Audience, Disposition

Id = Annotated[str, "id"]
"""Names an entry of the knowledge, a kind of thing, a shop: nothing that people said."""
Word = Annotated[str, "disposition"]
"""A disposition by its word."""
Name = Annotated[str, "name"]
"""Names a car or its owner, and cases are searched by it."""
Many = tuple[Id, ...]
NOT_WRITTEN = "`{}` is not what this program writes"
_WORDS = frozenset(level.word for level in Disposition)


@dataclass(frozen=True)
class Fact:
    """What one event says. `instead_of`: number of the earlier event that it corrects, and whose place it takes."""

    instead_of: int | None = field(default=None, kw_only=True)
    kind: ClassVar[Kind]
    of_kind: ClassVar[dict[str, type["Fact"]]] = {}

    def __init_subclass__(cls, kind: Kind | None = None) -> None:
        if kind is not None:
            cls.kind = kind
            Fact.of_kind[kind] = cls

    def draft(self, at: str, by: str) -> Draft:
        """The event that says this, not recorded yet; empty fields that have an empty default are left out."""
        kept = {}
        for one in fields(self):
            value, factory = getattr(self, one.name), one.default_factory
            if value or value != (one.default if factory is MISSING else factory()):
                kept[one.name] = _plain(value)
        return Draft(self.kind, at, by, kept)


@dataclass(frozen=True)
class Opened(Fact, kind=Kind.OPENED):
    """A case was begun for this car (as the customer names it) by this reader, in this shop."""

    car: Name = ""
    audience: Audience = Audience.PHONE
    shop: Id = ""
    without_names: bool = False


@dataclass(frozen=True)
class ServiceNamed(Fact, kind=Kind.SERVICE):
    """The service that was done before, and those done together with it; None: this audience could not tell."""

    service: Id | None
    also: Many = ()
    unknown_to: Audience | None = None
    words: str = ""

    @property
    def all(self) -> tuple[str, ...]:
        """Every service named."""
        return (self.service, *self.also) if self.service else self.also


@dataclass(frozen=True)
class ComplaintNamed(Fact, kind=Kind.COMPLAINT):
    """What the customer complains of, the main one first, and in which words; `further`: besides what was named."""

    complaint: Id
    words: str = ""
    also: Many = ()
    further: bool = False

    @property
    def all(self) -> tuple[str, ...]:
        """Every complaint named, the main one first."""
        return (self.complaint, *self.also)


@dataclass(frozen=True)
class ConditionNamed(Fact, kind=Kind.CONDITION):
    """What the car has for a feature; None if nobody could tell."""

    feature: Id
    value: Id | None


@dataclass(frozen=True)
class Answered(Fact, kind=Kind.ANSWERED):
    """The results of one screen, None for "don't know"; `readings` as typed, `codes` the trouble codes read.

    `since`: when and by whom answers were given that a correction of another one left as they were.
    `by_readout`: the values of a readout on which each result rests.
    """

    results: Mapping[Id, Id | None]
    readings: Mapping[Id, str] = field(default_factory=dict)
    audience: Audience = Audience.BAY
    again: bool = False
    codes: Many = ()
    since: Mapping[Id, tuple[str, str]] = field(default_factory=dict)
    by_readout: Mapping[Id, str] = field(default_factory=dict)


@dataclass(frozen=True)
class TakenBack(Fact, kind=Kind.TAKEN_BACK):
    """Event `number` counts no longer; `why` is empty after going back."""

    number: int
    why: str = ""


@dataclass(frozen=True)
class Noted(Fact, kind=Kind.NOTED):
    """A note; `codes` are trouble codes in it that no check asks for."""

    text: str
    codes: Many = ()


@dataclass(frozen=True)
class AdviceTold(Fact):
    """An advice: the sentences `said` aloud, what was `ruled` and the least that it had to be, and the danger signs."""

    disposition: Word
    said: tuple[str, ...] = field(default=(), kw_only=True)
    ruled: Word | None = field(default=None, kw_only=True)
    floor: Word | None = field(default=None, kw_only=True)
    flags: Many = field(default=(), kw_only=True)
    read_back: str = field(default="", kw_only=True)


@dataclass(frozen=True)
class Advised(AdviceTold, kind=Kind.ADVISED):
    """The call ended with this advice; `agreed`: the caller said yes to it."""

    agreed: bool | None = None


@dataclass(frozen=True)
class Solved(AdviceTold, kind=Kind.SOLVED):
    """The call ended with what the caller did alone: the `check` that showed it, and the `repair` it stands in for.

    `causes` are those it settled, the likeliest first.
    """

    check: Id
    repair: Id
    causes: Many = ()


@dataclass(frozen=True)
class Refused(AdviceTold, kind=Kind.REFUSED):
    """The caller will not do it, in these words."""

    words: str


@dataclass(frozen=True)
class ReadBack(AdviceTold, kind=Kind.READ_BACK):
    """The advice was read back, and the caller said yes or no."""

    agreed: bool


@dataclass(frozen=True)
class Warned(Fact, kind=Kind.WARNED):
    """A stop screen was passed with this word; which danger signs and cautions it showed, and what was `said` aloud."""

    stop: Id = ""
    word: Id = ""
    flags: Many = ()
    signs: Many = ()
    cautions: Many = ()
    said: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.word == TOLD and self.stop not in _WORDS:
            raise ValueError(NOT_WRITTEN.format("stop"))


@dataclass(frozen=True)
class CalledAgain(Fact, kind=Kind.CALLED_AGAIN):
    """The customer called again about the same car."""


@dataclass(frozen=True)
class Driving(Fact, kind=Kind.DRIVING):
    """If the caller is driving; None if that could not be told."""

    driving: bool | None


@dataclass(frozen=True)
class Registered(Fact, kind=Kind.REGISTERED):
    """The registration; `read_back`: typed twice, the same."""

    registration: Name
    read_back: bool = True


@dataclass(frozen=True)
class Contact(Fact, kind=Kind.CONTACT):
    """The number to call back on, or where the car is; None for what was not said."""

    phone: Name | None = None
    place: Name | None = None


@dataclass(frozen=True)
class Said(Fact, kind=Kind.SAID):
    """Words of a later call."""

    words: str


@dataclass(frozen=True)
class Renamed(Fact, kind=Kind.RENAMED):
    """The car is called by another name."""

    car: Name


@dataclass(frozen=True)
class Given(Fact, kind=Kind.GIVEN):
    """The case was given to a person in the bay."""

    to: str


@dataclass(frozen=True)
class Overridden(Fact, kind=Kind.OVERRIDDEN):
    """A person set another disposition than the one ruled, why, and who agreed to a milder one."""

    ruled: Word
    to: Word
    reason: str
    second: str = ""


@dataclass(frozen=True)
class Repaired(Fact, kind=Kind.REPAIRED):
    """A repair was done."""

    repair: Id


@dataclass(frozen=True)
class Skipped(Fact, kind=Kind.SKIPPED):
    """A repair was passed over."""

    repair: Id


@dataclass(frozen=True)
class HandedOver(Fact, kind=Kind.HANDED_OVER):
    """The car goes to a specialist, why, and for which repair; `waits`: it does not show now, so the case waits."""

    reason: str = ""
    repair: Id | None = None
    waits: bool = False


@dataclass(frozen=True)
class TakenOver(Fact, kind=Kind.TAKEN_OVER):
    """The bay went on with the case."""

    audience: Audience = Audience.BAY


@dataclass(frozen=True)
class Closed(Fact, kind=Kind.CLOSED):
    """How the case ended: complaint, causes, repairs, those that were unneeded; `proven`: the proof held.

    `cause_named` is how a person named the cause, `cause_words` one that is not listed.
    """

    complaint: Id = ""
    words: str = ""
    causes: Many = ()
    repairs: Many = ()
    in_vain: Many = ()
    proven: bool | None = None
    cause_named: Id = ""
    cause_words: str = ""


@dataclass(frozen=True)
class Evidence(Fact, kind=Kind.EVIDENCE):
    """All that a readout brought from the car, as plain data: codes by kind and by control unit, values by state."""

    source: str = ""
    codes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    units: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    freeze_frame: Any = None
    readiness: Any = None
    values: Mapping[str, Any] = field(default_factory=dict)
    misfires: Mapping[str, int] = field(default_factory=dict)
    cleared_seen: bool = False
    raw: tuple[str, ...] = ()


def fact_of(event: Event | Draft) -> Fact | None:
    """What the event says; None for a kind that this program does not know.

    Raises TypeError if a field without default is missing, ValueError naming a field that is not as written here.
    """
    made = Fact.of_kind.get(event.kind)
    if made is None:
        return None
    given = {}
    for name, hint in hints_of(event.kind).items():
        if name in event.payload:
            try:
                given[name] = _typed(hint, event.payload[name])
            except (TypeError, ValueError):
                raise ValueError(NOT_WRITTEN.format(name)) from None
    return made(**given)


@cache
def hints_of(kind: str) -> Mapping[str, Any]:
    """Field -> its type, of the facts of this kind; none of a kind that is not known."""
    hints = get_type_hints(Fact.of_kind.get(kind, Fact), include_extras=True)
    return {name: hint for name, hint in hints.items() if get_origin(hint) is not ClassVar}


def says_no_words(hint: Any) -> bool:
    """True for a type that holds nothing that people said or are called."""
    if hint in (Id, Word, Audience, bool, int, type(None), ...):
        return True
    return get_origin(hint) is not Annotated and bool(get_args(hint)) and all(map(says_no_words, get_args(hint)))


def _typed(hint: Any, value: Any) -> Any:
    """The plain value as its type; lists become tuples. Raises TypeError or ValueError for any other value."""
    origin, args = get_origin(hint), get_args(hint)
    if hint is Any:
        return value
    if hint is Audience:
        return Audience(value)
    if type(None) in args:
        return None if value is None else _typed(args[0], value)
    if origin is Mapping and isinstance(value, Mapping):
        return {_typed(args[0], key): _typed(args[1], part) for key, part in value.items()}
    if origin is tuple and isinstance(value, list | tuple):
        kinds = args[:1] * len(value) if args[-1] is ... else args
        return tuple(_typed(kind, part) for kind, part in zip(kinds, value, strict=True))
    if type(value) is not (args[0] if origin is Annotated else hint) or (hint == Word and value not in _WORDS):
        raise ValueError(value)
    return value


def _plain(value: Any) -> Any:
    """The value as JSON has it."""
    if isinstance(value, Mapping):
        return {key: _plain(part) for key, part in value.items()}
    if isinstance(value, Audience):
        return value.value
    return [_plain(part) for part in value] if isinstance(value, list | tuple) else value
