"""What is recorded of a drill, and the drill made again from it: seed and turns, everything else follows."""

from collections.abc import Iterable, Mapping
from typing import Any

from comeback.engine.case.events import DRILL_FINISHED, Event, Kind
from comeback.engine.drill.drill import Drill, Mode
from comeback.engine.drill.hidden_car import HiddenCar, hide_car
from comeback.engine.drill.miss import MissKind
from comeback.engine.drill.phone import REPLIES, PhoneDrill
from comeback.engine.errors import EngineError
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Disposition

OPENED, FINISHED = Kind.OPENED, DRILL_FINISHED
SIGNS, TOLD, READ, CHECKED, REPAIRED = "signs", "told", "read", "checked", "repaired"
HINTED, STOPPED, HANDED_OVER = "hinted", "stopped", "ended"
DRIVING, TO_STOP, ASKED, REPLIED, READ_BACK = "driving", "to-stop", "asked", "replied", "read-back"


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

    A danger-sign look gives the results, a check or repair its turn, a hint its text, a question about driving
    the answer.
    """
    match kind:
        case "signs":
            return drill.look_at_signs()
        case "told":
            return drill.tell(Disposition.of(data["advice"]))
        case "read":
            return drill.read.update(data["cautions"])
        case "checked":
            return drill.check(data["check"])
        case "repaired":
            return drill.repair(data["repair"])
        case "hinted":
            return drill.hint(data.get("level"))
        case "stopped":
            return drill.stop(data["miss"], MissKind(data["hazard"]), tuple(data["cautions"]))
        case "ended":
            return drill.hand_over()
    if not isinstance(drill, PhoneDrill):
        raise ValueError(f"'{kind}' is nothing that one does in a drill")
    return _act_at_the_phone(drill, kind, data)


def _act_at_the_phone(drill: PhoneDrill, kind: str, data: Mapping[str, Any]) -> Any:
    match kind:
        case "driving":
            return drill.ask_driving()
        case "to-stop":
            return drill.tell_to_stop()
        case "asked":
            return drill.open_question()
        case "replied":
            if data["reply"] not in REPLIES:
                raise ValueError(f"'{data['reply']}' is no reply")
            return drill.reply(data["want"], data["reply"])
        case "read-back":
            return drill.confirm()
    raise ValueError(f"'{kind}' is nothing that one does in a call")
