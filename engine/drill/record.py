"""What is recorded of a drill, and the drill rebuilt from it: seed and turns, everything else follows."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from comeback.engine.case.events import DRILL_FINISHED, Event, Kind
from comeback.engine.drill.drill import Drill, Mode
from comeback.engine.drill.hidden_car import HiddenCar, hide_car
from comeback.engine.drill.phone import PhoneDrill
from comeback.engine.drill.safety import MissKind
from comeback.engine.errors import EngineError
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Disposition

OPENED, FINISHED = Kind.OPENED, DRILL_FINISHED
SIGNS, TOLD, READ, CHECKED, REPAIRED = "signs", "told", "read", "checked", "repaired"
HINTED, STOPPED, HANDED_OVER = "hinted", "stopped", "ended"
DRIVING, TO_STOP, ASKED, REPLIED, READ_BACK = "driving", "to-stop", "asked", "replied", "read-back"

ACTS: Mapping[str, Callable[[Drill, Mapping[str, Any]], Any]] = {
    SIGNS: lambda drill, data: drill.look_at_signs(),
    TOLD: lambda drill, data: drill.tell(Disposition.of(data["advice"])),
    READ: lambda drill, data: drill.read.update(data["cautions"]),
    CHECKED: lambda drill, data: drill.check(data["check"]),
    REPAIRED: lambda drill, data: drill.repair(data["repair"]),
    HINTED: lambda drill, data: drill.hint(),
    STOPPED: lambda drill, data: drill.stop(data["miss"], MissKind(data["hazard"]), tuple(data["cautions"])),
    HANDED_OVER: lambda drill, data: drill.hand_over(),
}
"""What is done in any drill, by the kind of its event."""
PHONE_ACTS: Mapping[str, Callable[[PhoneDrill, Mapping[str, Any]], Any]] = {
    DRIVING: lambda drill, data: drill.ask_driving(),
    TO_STOP: lambda drill, data: drill.tell_to_stop(),
    ASKED: lambda drill, data: drill.open_question(),
    REPLIED: lambda drill, data: drill.reply(data["want"], data["reply"]),
    READ_BACK: lambda drill, data: drill.confirm(),
}


@dataclass(frozen=True)
class Act:
    """Something done in a drill: the kind of its event, and what belongs to it."""

    kind: str
    payload: Mapping[str, Any] = field(default_factory=dict)


class DrillChanged(EngineError):
    """The drill cannot go on: the knowledge is another one, or its record cannot be read."""


def new_drill(knowledge: KnowledgeBase, car: HiddenCar, mode: Mode) -> Drill:
    """A drill at its beginning, at the car or at the phone."""
    return (PhoneDrill if mode is Mode.PHONE else Drill)(knowledge, car, mode)


def rebuild(knowledge: KnowledgeBase, events: Iterable[Event]) -> Drill:
    """The drill that was recorded, where it was left. Raises DrillChanged, UnknownEntry."""
    first, *turns = events
    if first.knowledge != knowledge.version:
        raise DrillChanged(
            f"Drill {first.case} was begun with knowledge {first.knowledge}, this is {knowledge.version}: "
            "the car would be another one. Name the same --knowledge, or begin a new drill."
        )
    try:
        data = first.payload
        car = hide_car(knowledge, int(data["seed"]), data["service"], data["complaint"])
        drill = new_drill(knowledge, car, Mode(data["mode"]))
        for event in turns:
            if event.kind != FINISHED:
                act(drill, event.kind, event.payload)
    except (LookupError, TypeError, ValueError, AttributeError) as error:
        raise DrillChanged(f"The record of drill {first.case} cannot be read ({error}). Begin a new drill.") from None
    return drill


def act(drill: Drill, kind: str, data: Mapping[str, Any]) -> Any:
    """Do in the drill what an event says, and return what came of it. Raises KeyError, ValueError for what is unknown.

    A look at the danger signs gives the results, a check or repair its turn, a hint its text, a question about
    driving the answer.
    """
    if isinstance(drill, PhoneDrill) and kind in PHONE_ACTS:
        return PHONE_ACTS[kind](drill, data)
    if kind not in ACTS:
        raise ValueError(f"'{kind}' is not done in this drill")
    return ACTS[kind](drill, data)
