"""A walk that is open while a readout, or somebody else, records in its case: what came in is taken in, not fought.

What a readout found beside the open step harms no answer: the answer is recorded behind it. Where the
same was answered, or where something was decided on what was known before, the step is asked anew.
"""

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING

from comeback.cli.numbers import counted
from comeback.engine.case.events import Draft, Event, Kind
from comeback.engine.case.facts import Answered, ConditionNamed, fact_of
from comeback.engine.case_log.protocol import CaseMovedOn
from comeback.engine.walk.walk import Walk

if TYPE_CHECKING:
    from comeback.engine.case_log.store import SqlCaseLog

BESIDE = frozenset({Kind.EVIDENCE, Kind.CONDITION, Kind.NOTED})
"""Kinds of events that another may record beside an open step; answers of a readout too."""
DECISIONS = frozenset({Kind.ADVISED, Kind.SOLVED, Kind.READ_BACK, Kind.HANDED_OVER, Kind.CLOSED, Kind.OVERRIDDEN})
"""What was decided on what was known: it is decided again when more is known."""
NAMED = 3
"""Findings that are named in full; the others are counted."""
NOT_RECORDED = " What you typed is not saved yet: check the step again."
TRIES = 3


def append(walk: Walk, log: "SqlCaseLog", drafts: Sequence[Draft]) -> tuple[Walk, str, bool]:
    """(the walk afterwards, a sentence about what came in meanwhile or empty, whether `drafts` were recorded).

    Raises CaseLogError; CaseMovedOn only if the case goes on moving while this is tried.
    """
    before = walk
    for _ in range(TRIES):
        try:
            done = walk.after(log.append(walk.case.id, walk.case.last, drafts, walk.knowledge.version))
        except CaseMovedOn:
            walk = walk.after(log.events(walk.case.id)[walk.case.last :])
            came = walk.events[len(before.events) :]
            if [*map(_content, drafts)] == [
                *map(_content, came)
            ]:  # it had been recorded, and the connection broke before that was said
                return walk, "", True
            if not _fits(drafts, came):
                return walk, f"{came_in(walk, came)}{NOT_RECORDED}", False
        else:
            return done, came_in(walk, walk.events[len(before.events) :]), True
    raise CaseMovedOn(f"Case {walk.case.id} keeps changing. Open it again to continue.")


def came_in(walk: Walk, came: Sequence[Event]) -> str:
    """What others recorded, in one sentence; empty if nothing."""
    if not came:
        return ""
    people, checks = ", ".join(dict.fromkeys(event.by for event in came)), walk.knowledge.checks
    answers = [fact.results for fact in map(fact_of, came) if isinstance(fact, Answered)]
    results = {check: result for answer in answers for check, result in answer.items() if check in checks}
    telling = [check for check, result in results.items() if result not in (None, checks[check].expected)]
    named = [f"{checks[c].name}: {checks[c].results.get(str(results[c]), results[c])}" for c in telling[:NAMED]]
    left = len(results) - len(named)
    parts = [*named, *([counted(left, "more finding")] if left else [])]
    source = "a readout" if any(event.kind == Kind.EVIDENCE for event in came) else "another window"
    other = "" if parts else f" {counted(len(came), 'entry', 'entries')}"
    return f"New since then from {source} ({people}):{other} {'; '.join(parts)}".rstrip() + "."


def _content(entry: Draft | Event) -> tuple[str, str, str, str]:
    return entry.kind, entry.at, entry.by, json.dumps(dict(entry.payload), sort_keys=True, default=list)


def _fits(drafts: Sequence[Draft], came: Sequence[Event]) -> bool:
    """True if the drafts still mean what they meant: only a readout came in, and it settled none of them."""
    beside = all(e.kind in BESIDE or getattr(fact_of(e), "by_readout", None) for e in came)
    decided = any(draft.kind in DECISIONS for draft in drafts)
    return beside and not decided and not _settled(came) & _settled(drafts)


def _settled(entries: Sequence[Draft | Event]) -> set[str]:
    """Checks and features of the car that were answered."""
    facts = [*map(fact_of, entries)]
    features = {fact.feature for fact in facts if isinstance(fact, ConditionNamed)}
    return features.union(*(fact.results for fact in facts if isinstance(fact, Answered)))
