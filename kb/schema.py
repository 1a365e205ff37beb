"""What the knowledge files may say: one frozen type per word of the vocabulary.

A file is a mapping of sections (`causes:`, `checks:` ...); a section maps ids to entries of the types below.
`shows`, `removes`, `proof` and the like name other entries by id; `kb.loader` resolves them. Percentages are stored
as probabilities 0 to 1; money is in the shop's currency, frequencies are cars per 1000.
"""

from collections.abc import Collection, Mapping
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, field_validator, model_validator

from comeback.kb.fields import (
    Condition,
    Frozen,
    Id,
    Ids,
    Line,
    Lines,
    Minutes,
    Move,
    Percent,
    Rank,
    Shown,
    Words,
    as_tuple,
)
from comeback.kb.revision import Change, Revision
from comeback.kb.vocabulary import (
    FEATURES,
    Audience,
    CauseKind,
    Certainty,
    Disposition,
    EngineOff,
    Injury,
    Level,
    Sense,
    SignalWord,
    Sureness,
)


class Entry(Frozen):
    """Common to all entries: an id (its key in the file) and where its facts come from."""

    id: Id
    source: Ids = Field(min_length=1, description="source ids, see sources.yaml")

    @field_validator("only_if", check_fields=False)
    @classmethod
    def _known_condition(cls, value: Condition) -> Condition:
        for feature, kinds in value.items():
            if feature not in FEATURES:
                raise ValueError(f"'{feature}' is not a vehicle condition. Use one of: {', '.join(FEATURES)}")
            for kind in kinds:
                if kind not in FEATURES[feature]:
                    raise ValueError(f"'{kind}' is not a kind of {feature}. Use one of: {', '.join(FEATURES[feature])}")
        return value


class Source(Frozen):
    """Where facts come from. `status` says how far to trust it."""

    id: Id
    title: Line
    status: Annotated[str, Field(pattern="^(read|second-hand|from-memory|common-practice|judgement|counted)$")]
    note: str = ""


class Caution(Entry):
    """A hazard in four parts; its signal word follows from severity and certainty (ANSI Z535.4)."""

    injury: Injury
    outcome: Certainty = Certainty.COULD
    avoid: Line = Field(description="the command; comes first")
    hazard: Line = Field(description="what it is and where")
    consequence: Line = Field(description="what happens if it is ignored")
    reminder: Line = Field(default="", description="short form for a reader who has seen the full caution")

    @property
    def word(self) -> SignalWord:
        """DANGER, WARNING, CAUTION or NOTICE."""
        if self.injury is Injury.NONE:
            return SignalWord.NOTICE
        if self.injury is Injury.MINOR:
            return SignalWord.CAUTION
        return SignalWord.DANGER if self.outcome is Certainty.WILL else SignalWord.WARNING

    @property
    def text(self) -> str:
        """All of it: the command, the hazard, what happens."""
        return f"{self.avoid} {self.hazard} {self.consequence}"


class SetUp(Entry):
    """A state of the car or bay that checks need; its minutes count once while it lasts."""

    name: Line
    minutes: Minutes
    ends: Ids = Field(default=(), description="set-ups that end when this one starts")
    power: bool = Field(default=False, description="true if the ignition is switched on for it")
    engine_off: bool = Field(default=False, description="true if the engine does not run in it")
    short: str = Field(default="", description="in the title of a chart's step; none: the name, or only the ignition")
    cautions: Ids = ()


class Panel(Entry):
    """Several checks read in one go, such as all stored trouble codes; shown on one screen."""

    name: Line
    do: Line
    tier: Rank
    minutes: Minutes = Field(description="for all of its checks together, set-ups not counted")
    condition: str = ""


class Step(Frozen):
    """One thing a service does to the car."""

    do: Line
    disturbs: Lines = ()
    renews: Ids = Field(default=(), description="repairs whose new part this step installs: not worn afterwards")
    cautions: Ids = ()


class Service(Entry):
    """The routine work that was done."""

    name: Line
    plain: Line = Field(description="what the customer calls it")
    words: Lines = Field(default=(), description="other names, for search")
    steps: Mapping[Id, Step] = Field(min_length=1)
    handover: Ids = Field(default=(), description="checks before the keys go back")
    red_flags: Ids = Field(default=(), description="danger signs asked first after it, whatever the complaint")
    opening: Ids = Field(default=(), max_length=3, description="checks or panels to look at first after it, in order")
    only_if: Condition = Field(default={}, description="cars that it is done on")
    advice: Lines = Field(default=(), description="what the customer should know afterwards")


class Complaint(Entry):
    """What the customer reports: a way in. Its evidence is the results it reports."""

    name: Line
    words: Lines = Field(min_length=1, description="how customers say it, for search")
    reports: Mapping[Id, Id] = Field(
        default={}, description="check -> result that the complaint states; empty if nothing else fits"
    )
    red_flags: Ids = Field(description="danger signs asked first, in order")
    services: Ids = Field(default=(), description="only after these services; empty = any")
    opening: Ids = Field(default=(), max_length=3, description="checks or panels to look at first with it, in order")
    once_gone: Ids = Field(default=(), max_length=1, description="look made though it has passed: it can hide a slip")

    def after(self, services: Collection[str]) -> bool:
        """True if it may follow one of these services; any complaint may follow none."""
        return not self.services or not services or not set(self.services).isdisjoint(services)


class Cause(Entry):
    """What may be wrong, how often, what it shows, and how the car may be moved."""

    name: Line
    kind: CauseKind
    service: Id | None = None
    step: Id | None = None
    not_after: Ids = Field(default=(), description="services that replace the part: not worn after them")
    frequency: Annotated[float, Field(gt=0, lt=1000)] = Field(description="cars per 1000")
    drive: Move = Field(description="what the caller must do if this cause is present")
    explain: Line = Field(description="for the technician: what happens and why")
    tell: Line = Field(description="for the customer, in plain words")
    only_if: Condition = Field(default={}, description="vehicle conditions that it is for; none = any car")
    shows: Mapping[Id, Shown] = Field(
        min_length=1, description="check -> chance of its abnormal result, or result -> chance"
    )

    def after(self, services: Collection[str]) -> bool:
        """True if a car may have this cause after these services: a slip needs its own service, wear an old part."""
        return (not self.kind.needs_service or self.service in services) and set(self.not_after).isdisjoint(services)

    @model_validator(mode="after")
    def _slip_has_step(self) -> "Cause":
        if self.kind.needs_service and self.service is None:
            raise ValueError(f"a {self.kind.value} needs the service that it comes from. Add `service:`")
        if self.kind is CauseKind.SLIP and self.step is None:
            raise ValueError("a slip needs the step that it is a slip of. Add `step:`")
        return self


class Reading(Frozen):
    """A number with a unit and how it falls into results."""

    unit: str
    possible: tuple[float, float] = Field(description="outside: not a real reading")
    bands: Mapping[Id, tuple[float, float]] = Field(description="result -> from (included) to (not included)")


class Remedy(Frozen):
    """What the caller may do alone, safely and without a tool. The check's `say` then asks what came of it."""

    do: str = Field(default="", description="read aloud before the question; empty if nothing is to be done")
    not_if: Line = Field(description="who must not do it, or when not")
    result: Id = Field(description="the result that shows it helped: nobody need come in then")
    repair: Id = Field(description="the bay's repair that it stands in for: what this removes is settled")
    then: Lines = Field(description="read aloud once it helped")
    again: Line = Field(description="when to call again, read aloud")
    despite: Ids = Field(default=(), description="danger signs it is offered with, as a car that does not start")


class Check(Entry):
    """Something to ask, look at or measure, with its possible results, the expected one first."""

    name: Line
    tier: Rank
    audience: Annotated[tuple[Audience, ...], BeforeValidator(as_tuple)] = Field(min_length=1)
    minutes: Minutes
    say: Line | None = Field(default=None, description="read aloud to the caller")
    sense: Sense | None = None
    do: Line | None = Field(default=None, description="for the technician, in the imperative")
    point: str = Field(default="", description="where on the car")
    tool: str = ""
    condition: str = Field(default="", description="state of the car while it is made")
    panel: Id | None = Field(default=None, description="panel that this check is read with")
    needs: Mapping[Id, Ids] = Field(
        default={},
        description="check -> results that it makes sense with; unknown counts as one, by phone as the expected one",
    )
    set_up: Ids = ()
    cautions: Ids = ()
    put_back: Lines = Field(default=(), description="what to restore afterwards")
    results: Mapping[Id, Line] = Field(min_length=2, max_length=8)
    otherwise: Mapping[Id, Percent] = Field(description="chance of each abnormal result if none of the causes is there")
    reading: Reading | None = None
    told: Sureness | None = Field(default=None, description="how surely people can tell the result, if not by a look")
    red_flag: Mapping[Id, Move] = Field(default={}, description="result -> mildest disposition from then on")
    fire: Ids = Field(default=(), description="results that mean fuel or fire: nothing is switched on while they stand")
    harmless: Ids = Field(default=(), description="abnormal results of a danger sign that are harmless")
    follow_up: Mapping[Id, Ids] = Field(
        default={}, description="result -> danger signs to ask the caller next; without an answer they count as seen"
    )
    before_driving: Mapping[Id, Lines] = Field(
        default={}, description="result -> what the caller does first if the car may be driven; read aloud"
    )
    engine_off: Mapping[Id, EngineOff] = Field(default={}, description="result -> how long the engine stays off")
    runs_engine: bool = Field(default=False, description="true if the engine is run or cranked, or the car driven")
    drives: bool = Field(default=False, description="true if the car is driven")
    asks_customer: bool = Field(default=False, description="true if only the customer knows, so the bay has to call")
    codes: Mapping[Id, Words] = Field(default={}, description="result -> trouble codes that mean it")
    stores_codes: Ids = Field(default=(), description="results that mean the engine computer stored something")
    only_if: Condition = Field(default={}, description="vehicle conditions that it is for; none = any car")
    services: Ids = Field(default=(), description="only after these services; empty = any")
    lasting: bool = Field(default=False, description="true if a repair does not change the result")
    erases_evidence: bool = False
    calm: Ids = Field(default=(), description="results, calmest first: a calmer one never makes the advice more urgent")
    passed: Ids = Field(default=(), description="results that say the trouble has passed by itself")
    remedy: Remedy | None = Field(default=None, description="if it is something that the caller may do")

    @property
    def aloud(self) -> str:
        """What a caller hears: what to do, if anything, and the question."""
        return f"{self.remedy.do if self.remedy else ''} {self.say or ''}".strip()

    @property
    def names(self) -> tuple[str, ...]:
        """Result ids in order of dominance, the expected one first."""
        return tuple(self.results)

    @property
    def sureness(self) -> Sureness:
        """How surely people can tell the result; codes are read off the scan tool."""
        return self.told or (Sureness.UNMISTAKABLE if self.panel else Sureness.LOOK)

    @property
    def expected(self) -> str:
        """The "nothing wrong" result."""
        return next(iter(self.results))

    @model_validator(mode="after")
    def _wording_fits_audience(self) -> "Check":
        if Audience.PHONE in self.audience and (self.say is None or self.sense is None):
            raise ValueError("a phone check needs `say:` (read aloud) and `sense:` (how the caller knows)")
        if Audience.BAY in self.audience and self.do is None:
            raise ValueError("a bay check needs `do:` (what the technician does)")
        return self


class Proof(Frozen):
    """The check that shows the repair held, with the result it must have."""

    check: Id
    result: Id
    note: str = ""


MEANT = 0.5
"""A repair is meant for a cause that it removes at least this often; judged."""


class Repair(Entry):
    """An action that removes causes, and how to prove it."""

    name: Line
    removes: Mapping[Id, Percent] = Field(min_length=1, description="cause -> chance that it is gone afterwards")
    minutes: Minutes
    parts: Annotated[float, Field(ge=0)] = 0
    tier: Rank
    set_up: Ids = ()
    cautions: Ids = ()
    steps: Lines = Field(min_length=1)
    put_back: Lines = ()
    procedures: Ids = Field(default=(), description="procedures that follow the steps")
    proof: Proof
    runs_engine: bool = Field(default=False, description="true if its own steps run, crank or drive")
    drives: bool = Field(default=False, description="true if its own steps drive the car")
    level: Level = Level.TECHNICIAN
    only_if: Condition = Field(default={}, description="vehicle conditions that it is for; none = any car")
    never: str = Field(default="", description="what must not be done")

    def meant_for(self, cause: str) -> bool:
        """True if it removes the cause at least as often as MEANT."""
        return self.removes.get(cause, 0.0) >= MEANT


class Procedure(Entry):
    """A sequence that several repairs share: a relearn, a battery reset, a counted trip."""

    name: Line
    when: Line = Field(description="what must be true before it starts")
    steps: Lines = Field(min_length=1)
    done_when: Line = Field(description="how to tell that it is finished")
    cautions: Ids = ()
    runs_engine: bool = Field(default=False, description="true if the engine is run or cranked, or the car driven")
    minutes: Minutes = 0
    only_if: Condition = Field(default={}, description="vehicle conditions that it is for; none = any car")


class Code(Frozen):
    """A generic trouble code (SAE J2012 / ISO 15031-6) in our own words."""

    id: Annotated[str, Field(pattern=r"^[PCBU][0-3][0-9A-F]{3}$")]
    meaning: Line
    note: str = Field(default="", description="what it points to after a service, and what it does not")
    source: Ids = Field(min_length=1)


class Advice(Frozen):
    """Words and losses of one disposition. Losses are judgement, in minutes of working time."""

    id: str
    name: Line
    say: Lines = Field(description="read aloud to the caller")
    worse: Lines = Field(description="call back or stop if ...")
    promise_not: Lines
    within: Line = Field(description="time target")
    burden: float = Field(ge=0, description="what following it costs the customer, minutes")
    harm: float = Field(ge=0, description="loss if the car needed it and milder advice was given, minutes")


class NotCovered(Entry):
    """A kind of car (a value of the condition `drive`) that the knowledge says nothing about: who is to look at it."""

    name: Line
    say: Lines = Field(min_length=1, description="read aloud to the caller ahead of the advice")
    hand_to: Line = Field(description="who looks at it, for the bay")
    cautions: Ids = ()


class Settings(Frozen):
    """A shop's numbers."""

    rate_per_hour: float = Field(gt=0, description="labor, currency per hour")
    hand_over_minutes: Minutes = Field(description="cost of handing the car to a specialist")
    visit_minutes: Minutes = Field(default=75, description="what a visit costs that a call makes needless")


class KnowledgeBase(BaseModel):
    """Everything known, resolved and checked. `version` is the content hash of its files."""

    model_config = ConfigDict(frozen=True)
    version: str
    scale: Mapping[str, float]
    settings: Settings
    sources: Mapping[str, Source]
    dispositions: Mapping[Disposition, Advice]
    cautions: Mapping[str, Caution]
    set_ups: Mapping[str, SetUp]
    services: Mapping[str, Service]
    complaints: Mapping[str, Complaint]
    causes: Mapping[str, Cause]
    checks: Mapping[str, Check]
    repairs: Mapping[str, Repair]
    procedures: Mapping[str, Procedure]
    panels: Mapping[str, Panel]
    codes: Mapping[str, Code]
    not_covered: Mapping[str, NotCovered]
    revisions: Mapping[str, Revision] = {}
    changes: Mapping[str, Change] = {}

    def __hash__(self) -> int:
        return hash(self.version)

    @property
    def code_lists(self) -> tuple[Check, ...]:
        """The checks that are read off the list of stored codes."""
        return tuple(check for check in self.checks.values() if check.codes)

    def lit(self, results: Mapping[str, str | None]) -> bool:
        """True if one of these results (check -> result) says that the check-engine light is on."""
        checks = self.checks
        return any(seen in checks[check].stores_codes for check, seen in results.items() if check in checks)

    @property
    def passing(self) -> tuple[str, str] | None:
        """The check and its result that say that the trouble has passed by itself; None if no check says it."""
        return next(((check.id, check.passed[0]) for check in self.checks.values() if check.passed), None)

    def follow_ups(self, results: Mapping[str, str | None]) -> tuple[str, ...]:
        """Danger signs to ask next after these results (check -> result, None for "don't know"), in order."""
        known = ((self.checks[check].follow_up, result) for check, result in results.items() if check in self.checks)
        return tuple(dict.fromkeys(sign for signs, result in known for sign in signs.get(result or "", ())))

    def switches_on(self, check: str) -> bool:
        """True if the check is made with the ignition on, or the engine running."""
        entry = self.checks[check]
        return entry.runs_engine or any(self.set_ups[name].power for name in entry.set_up)

    def parts_minutes(self, repair: Repair) -> float:
        """What the parts cost, as minutes of labor."""
        return 60 * repair.parts / self.settings.rate_per_hour

    def set_ups_after(self, standing: Collection[str], needed: Collection[str]) -> frozenset[str]:
        """The set-ups that stand once those needed were made: they may end others."""
        ended = {name for need in needed for name in self.set_ups[need].ends}
        return frozenset(standing) - ended | frozenset(needed)

    def follows(self, check: str) -> dict[str, Ids]:
        """Danger signs that the check only follows up, with the results that it makes sense with."""
        needs = self.checks[check].needs.items()
        return {sign: seen for sign, seen in needs if any(check in x for x in self.checks[sign].follow_up.values())}

    def chances(self, cause: str, check: str) -> tuple[float, ...]:
        """Distribution of the results of `check` if only `cause` were present, expected first."""
        return result_distribution(self.checks[check], self.causes[cause].shows[check])

    def leak(self, check: str) -> tuple[float, ...]:
        """Distribution of the results of `check` if no cause were present."""
        return result_distribution(self.checks[check], self.checks[check].otherwise)


def result_distribution(check: Check, shows: float | Mapping[str, float]) -> tuple[float, ...]:
    """Chances of the abnormal results -> full distribution in order of dominance, summing to 1.

    A single number is the chance of the only (or first) abnormal result.
    """
    names = check.names
    abnormal = {names[1]: shows} if isinstance(shows, float | int) else dict(shows)
    rest = [abnormal.get(name, 0.0) for name in names[1:]]
    return (1.0 - sum(rest), *rest)
