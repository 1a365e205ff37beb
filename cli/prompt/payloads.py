"""What is recorded of a reply beside the reply itself: words, audience, what was read back, what closes a case."""

from typing import Any

from comeback.cli.prompt.replies import Record
from comeback.cli.screens.endings import confirm_back
from comeback.engine.case.events import Kind
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk


def payload_of(walk: Walk, reply: Record, words: str, editing: bool) -> dict[str, Any]:
    """The payload of the event that records `reply` to the walk's step; `words` are the customer's own."""
    payload: dict[str, Any] = dict(reply.payload)
    step = walk.step
    if reply.kind == Kind.COMPLAINT and "words" not in payload:
        payload["words"] = words or walk.case.words
    if reply.kind == Kind.ANSWERED:
        payload["audience"] = walk.audience.value
        if isinstance(step, steps.MakeCheck) and step.again is not None and not editing:
            payload["again"] = True
    if isinstance(step, steps.CloseCase) and reply.kind == Kind.CLOSED:
        return _closing(walk, step) | payload
    if isinstance(step, steps.Advise) and reply.kind in (Kind.ADVISED, Kind.READ_BACK, Kind.REFUSED):
        payload |= {
            "ruled": step.disposition.word, "floor": step.floor.word, "flags": list(step.flags),
            "read_back": confirm_back(walk, step),
        }  # fmt: skip
    return payload


def _closing(walk: Walk, step: steps.CloseCase) -> dict[str, Any]:
    """Complaint, cause, correction; the causes that a person named go before those proposed."""
    return {
        "complaint": step.complaint, "words": walk.case.words, "causes": list(step.causes),
        "repairs": list(step.repairs), "proven": step.proven, "in_vain": list(step.in_vain),
    }  # fmt: skip
