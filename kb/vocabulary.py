"""The closed word lists of the trade that knowledge files and code share.

Every member has a comment that says when to use it. The reader refuses a word that is not here, so a typo
in a file is found at once.
"""

from collections.abc import Mapping
from enum import IntEnum, StrEnum


class CauseKind(StrEnum):
    """Where a cause comes from; decides what its frequency counts."""

    SLIP = "slip"  # a service step went wrong: cars per 1000 services
    AFTER_EFFECT = "after-effect"  # expected after the service and passes: cars per 1000 services
    WEAR = "wear"  # was there before the service: cars per 1000 cars
    UNRELATED = "unrelated"  # neither: cars per 1000 cars

    @property
    def needs_service(self) -> bool:
        """True if the cause can exist only after its service."""
        return self in (CauseKind.SLIP, CauseKind.AFTER_EFFECT)


class Disposition(IntEnum):
    """Advice on driving, mildest first."""

    WATCH = 0  # drive as usual, call back if it does not pass
    BOOK = 1  # drive as usual, bring the car on a booked day
    COME_IN = 2  # drive only to the shop, today, with limits
    TOW = 3  # do not drive, have it towed
    GET_CLEAR = 4  # stop, engine off, people away from the car

    @property
    def word(self) -> str:
        """The spelling used in knowledge files, `come-in` for COME_IN."""
        return self.name.lower().replace("_", "-")

    @classmethod
    def of(cls, word: str) -> "Disposition":
        """The member spelled `word` in a file; KeyError if there is none."""
        return cls[word.upper().replace("-", "_")]


class EngineOff(StrEnum):
    """How long the engine is neither run nor cranked once a danger sign was seen."""

    LOOKED = "until-looked"  # look first at all that can be seen with it off, then run it as briefly as possible
    REPAIRED = "until-repaired"  # every turn does harm: first repair what the sign points to


class Tier(IntEnum):
    """Order in which checks and repairs may come; a lower tier goes first."""

    PEOPLE = 0  # finds danger to people
    CAR = 1  # finds danger to the car
    LOOK = 2  # a minute of looking, listening, feeling, undoing the last job
    TOOL = 3  # needs a tool or an instrument
    STRIP = 4  # takes something apart


class Audience(StrEnum):
    """Who asks or answers."""

    PHONE = "phone"  # the service writer with the customer on the line
    BAY = "bay"  # the technician at the car


class Sense(StrEnum):
    """How a caller knows the answer from the seat, without a tool."""

    SEE = "see"
    HEAR = "hear"
    SMELL = "smell"
    FEEL = "feel"
    LAMP = "lamp"
    REMEMBER = "remember"


class Sureness(StrEnum):
    """How surely people can tell a result: impossible to miss, seen if they look, or only if they know what it is."""

    UNMISTAKABLE = "unmistakable"
    LOOK = "look"
    KNOWLEDGE = "knowledge"

    @property
    def errors(self) -> float:
        """Mistakes and "don't knows" against those of a look; judged, no source."""
        return {Sureness.UNMISTAKABLE: 0.1, Sureness.LOOK: 1.0, Sureness.KNOWLEDGE: 2.0}[self]


class Injury(StrEnum):
    """How badly a hazard hurts; with `Certainty` it decides the signal word."""

    SERIOUS = "death-or-serious"
    MINOR = "minor-or-moderate"
    NONE = "damage-only"


class Certainty(StrEnum):
    """Whether harm follows for certain when the caution is ignored."""

    WILL = "will"
    COULD = "could"


class SignalWord(StrEnum):
    """ANSI Z535.4 signal words (definitions from public summaries; standard not read)."""

    DANGER = "DANGER"  # will cause death or serious injury if not avoided
    WARNING = "WARNING"  # could cause death or serious injury
    CAUTION = "CAUTION"  # could cause minor or moderate injury
    NOTICE = "NOTICE"  # damage only, no alert symbol

    @property
    def rank(self) -> int:
        """0 for the gravest."""
        return list(SignalWord).index(self)


class Level(StrEnum):
    """Who may do a repair."""

    TECHNICIAN = "technician"
    SPECIALIST = "specialist"  # stop and hand over: needs special training or a license


_FEATURES: Mapping[str, tuple[str, str, str, Mapping[str, str]]] = {
    "injection": ("How is fuel injected?", "Injection", "fuel injected ",
                  {"port": "into the intake ports", "direct": "directly into the cylinders", "both": "both ways"}),
    "air": ("How does the engine measure its air?", "Air measured by", "air measured by ",
            {"airflow-meter": "MAF sensor", "speed-density": "manifold pressure only (speed-density)"}),
    "induction": ("Is the engine boosted?", "Boost", "",
                  {"natural": "not boosted", "boosted": "turbocharger or supercharger"}),
    "throttle": ("How is the throttle moved?", "Throttle", "throttle moved ",
                 {"cable": "by a cable", "electronic": "electronically"}),
    "key": ("How is the car started?", "Starts", "started ",
            {"keyed": "with a key in a lock", "keyless": "with a button"}),
    "drive": ("What does the car run on?", "Fuel", "",
              {"gasoline": "gasoline", "hybrid": "gasoline and electric (hybrid)",
               "diesel": "diesel", "electric": "electric only"}),
}  # fmt: skip
"""Vehicle condition -> its question, its label in a record, what comes before its value where a car is described, and
each value in words."""
FEATURES = {name: tuple(values) for name, (*_, values) in _FEATURES.items()}
"""Vehicle conditions and their values; an unknown condition keeps every cause and check."""
FEATURE_QUESTIONS = {name: question for name, (question, *_) in _FEATURES.items()}
FEATURE_LABELS = {name: label for name, (_, label, *_) in _FEATURES.items()}
FEATURE_LEADS = {name: lead for name, (_, _, lead, _) in _FEATURES.items()}
"""As "fuel injected ", before "into the intake ports"."""
FEATURE_VALUES = {value: words for *_, values in _FEATURES.values() for value, words in values.items()}

NEVER_BUILT: tuple[dict[str, str], ...] = (
    {"drive": "hybrid", "throttle": "cable"},
    {"drive": "hybrid", "key": "keyed"},
    {"injection": "direct", "throttle": "cable"},
    {"injection": "both", "throttle": "cable"},
)
"""Builds that do not exist: the control unit of a hybrid or of direct injection sets the torque, so it moves the
throttle itself, and a hybrid starts its engine when it needs it (common practice, no source)."""


def can_be_built(vehicle: Mapping[str, str]) -> bool:
    """False if the vehicle matches a row of NEVER_BUILT; features that are not known rule nothing out."""
    return not any(row.items() <= vehicle.items() for row in NEVER_BUILT)
