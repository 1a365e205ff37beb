"""How far the advice of a case got: what the caller was told, and what is due and was not told or not agreed to yet."""

from collections.abc import Sequence
from dataclasses import dataclass

from comeback.engine.case.case import NOT_AGREED, NOT_TAKEN, Case, Told, read_case
from comeback.engine.case.events import Event, Kind
from comeback.engine.errors import EngineError
from comeback.engine.walk.disposition import red_flag_floor
from comeback.engine.walk.walk import CHANGING, Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience, Disposition

BAY_ONLY = frozenset({Kind.REPAIRED, Kind.SKIPPED, Kind.HANDED_OVER, Kind.TAKEN_OVER, Kind.CLOSED})


@dataclass(frozen=True)
class AdviceNow:
    """`told`: what the latest call ended with; `due` since `due_at`: what it must be (or None); `heard`: read out."""

    told: Told | None = None
    due: Disposition | None = None
    due_at: str = ""
    heard: Told | None = None

    @property
    def level(self) -> Disposition | None:
        """The advice in force: what is due, else what was told."""
        if self.due is not None:
            return self.due
        return Disposition.of(self.told.disposition) if self.told else None


def advice_now(knowledge: KnowledgeBase, recorded: Sequence[Event]) -> AdviceNow:
    """How far the advice got by the phone's own answers; what the bay found changes nothing that a caller was told."""
    case = read_case(recorded)
    told = case.last_told
    if case.closed is not None or case.handed_over is not None:
        return AdviceNow(told)
    by_phone = (e for e in recorded if e.kind not in BAY_ONLY and e.payload.get("audience") != Audience.BAY)
    walk = Walk(knowledge, tuple(by_phone), Audience.PHONE)
    due = _due(walk)
    if due is None:
        return AdviceNow(told)
    since = told.number if told else 0
    heard = [t for t in case.told if t.number > since and t.disposition == due.word]
    by_hand = [o for o in case.overrides if o.number > since and o.to == due.word]
    at = by_hand[-1].at if by_hand else _since(walk, since, due) or case.opened_at
    return AdviceNow(told, due, at, heard[-1] if heard else None)


def _due(walk: Walk) -> Disposition | None:
    """Before a call came to an end only what was heard, set by a person, or follows from a danger sign."""
    case = walk.case
    if not walk.events:
        return None
    try:
        if case.last_told is not None:
            return walk.advice_due
        if case.overrides or case.told:
            return walk.effective_advice(walk.advice().disposition)
        floor, _ = red_flag_floor(walk.knowledge, walk.view.results)
        return floor if floor > Disposition.WATCH and case.answers else None
    except (EngineError, KeyError):  # the knowledge no longer has what was answered
        return max((Disposition.of(o.to) for o in case.overrides), default=None)


def _since(walk: Walk, number: int, due: Disposition) -> str:
    """When the first answer made it due: the earliest event after which it was."""
    for count, event in enumerate(walk.events, 1):
        changing = event.number > number and event.kind in CHANGING
        if changing and _due(Walk(walk.knowledge, walk.events[:count], Audience.PHONE)) == due:
            return event.at
    return ""


def clock(at: str, day: str) -> str:
    """`17:31`, with the date before it on any other day than `day`."""
    return at[11:16] if at[:10] == day[:10] else f"{at[5:10]} {at[11:16]}"


def state_of(case: Case, now: AdviceNow, day: str = "") -> str:
    """For a list: where the case stands, and how far the advice got; `day`: times of that day go without a date."""
    where = "called again, not ended" if case.again and case.disposition is None else ""
    if case.closed is not None or case.handed_over is not None:
        where = "closed" if case.closed is not None else "handed over"
    elif case.solved is not None:
        where = "solved on the phone"
    elif case.repairs or case.audience is Audience.BAY:
        where = "repair to prove" if case.repairs else "in the bay"
    return "; ".join(part for part in (where, advice_text(now, day)) if part) or "on the phone"


def advice_text(now: AdviceNow, day: str = "") -> str:
    """`get-clear: NOT TOLD since 17:31; told book 17:20`, or what was told; empty before any advice."""
    parts, told, heard = [], now.told, now.heard
    if now.due is not None and heard is None:
        parts.append(f"{now.due.word}: NOT TOLD, due since {clock(now.due_at, day)}")
    if now.due is not None and heard is not None:
        how = "not agreed" if heard.how == NOT_AGREED else "no answer yet"
        parts.append(f"{now.due.word}: read out {clock(heard.at, day)}, {how}")
    if told is not None:
        text = f"{told.disposition} REFUSED" if told.how == NOT_TAKEN else f"told {told.disposition}"
        parts.append(f"{text} {clock(told.at, day)}")
    return "; ".join(parts)
