"""What a typed line can mean: a response to the step, a command, a remark, or a customer's own words."""

from dataclasses import dataclass

from comeback.engine.case.facts import Fact

YES, NO = frozenset({"y", "yes"}), frozenset({"n", "no"})
LEAVE = ("q", "quit", "save", "exit")
UNKNOWN_WORDS = frozenset(
    {"d", "don't know", "dont know", "don't-know", "unknown", "i don't know", "i dont know", "no idea", "not sure"}
)


@dataclass(frozen=True)
class Command:
    """Something else than an answer: help, why, back, review, leave, note."""

    name: str
    text: str = ""


@dataclass(frozen=True)
class Remark:
    """Not accepted; says what is."""

    text: str


@dataclass(frozen=True)
class Record:
    """What to record."""

    fact: Fact
    echo: str = ""
    passed: bool = False
    """Of a complaint: it has passed by itself, and that is recorded too."""
    rest: str = ""
    """Of a service: what was said of the car in the same sentence, to be matched with a complaint next."""


@dataclass(frozen=True)
class Doubt:
    """Possible but not likely: ask once whether `record` is really meant."""

    record: Record
    text: str


@dataclass(frozen=True)
class Words:
    """The customer's own words, to be matched with a complaint."""

    text: str


Reply = Command | Remark | Record | Words | Doubt
