"""What a record says of the advice: every reading-out in the words that were read, and how it ended."""

from collections.abc import Sequence

from comeback.cli.screens.advice_now import advice_now
from comeback.cli.screens.told_to_bay import signs_in
from comeback.engine.case.case import AGREED, NOT_AGREED, NOT_TAKEN, READ_OUT, Told, read_case, standing
from comeback.engine.case.events import Event, Kind
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience, Disposition

Row = tuple[str, ...]
OUTCOMES = {
    AGREED: "caller agreed",
    NOT_AGREED: "caller said no",
    READ_OUT: "read out",
    NOT_TAKEN: "REFUSED",
}


def said_aloud(recorded: Sequence[Event], told: Told) -> list[str]:
    """The sentences that were read out for this advice; empty in records that did not keep them."""
    for event in reversed([event for event in recorded if event.number <= told.number]):
        data = event.payload
        if told.disposition in (data.get("disposition"), data.get("stop")) and data.get("said"):
            return list(data["said"])
    return []


def advice_rows(knowledge: KnowledgeBase, recorded: Sequence[Event]) -> list[Row]:
    """(title, text) of the advice: what stands, then each reading-out in order, then what is due."""
    case, now = read_case(recorded), advice_now(knowledge, recorded)
    rows: list[Row] = []
    for told in case.told:
        entry = knowledge.dispositions[Disposition.of(told.disposition)]
        text = f"{told.disposition}, {entry.name} ({entry.within}): {OUTCOMES[told.how]}"
        rows.append((told.at, told.by, f"{text}: {told.words}" if told.words else text))
        said = said_aloud(recorded, told)
        rows += [("  Said", " ".join(said))] if said else []
        back = _read_back(recorded, told.number)
        rows += [("  Read back", back)] if back else []
    if now.due is not None:
        how = "read out, not agreed" if now.heard is not None else "NOT TOLD"
        rows.append((now.due_at, f"{now.due.word}, {knowledge.dispositions[now.due].name}: due since then, {how}"))
    return rows or [("Told", "no advice was given")]


def _read_back(recorded: Sequence[Event], number: int) -> str:
    return next((str(e.payload.get("read_back") or "") for e in recorded if e.number == number), "")


def sign_remarks(knowledge: KnowledgeBase, recorded: Sequence[Event]) -> list[Row]:
    """Danger signs that a person named when setting the advice, beside the answers that were given before."""
    walk = Walk(knowledge, tuple(recorded), Audience.PHONE)
    rows: list[Row] = []
    for event in standing(recorded):
        if event.kind != Kind.OVERRIDDEN or walk.case.complaint is None:
            continue
        reason = str(event.payload["reason"])
        for sign in signs_in(walk, reason):
            rows.append((knowledge.checks[sign].name, f"later: {reason} ({event.by}, {event.at})", "NAMED"))
    return rows
