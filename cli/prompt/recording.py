"""What is typed becomes events: each is in the log before the next step shows; the walk moves on only afterwards."""

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from comeback.cli import places
from comeback.cli.prompt import corrections, meanwhile
from comeback.cli.prompt.outage import insist
from comeback.cli.prompt.reply import Record
from comeback.cli.prompt.screen_state import ScreenState
from comeback.cli.prompt.session import PromptSession
from comeback.cli.screens import wording
from comeback.cli.screens.spoken import confirm_back
from comeback.cli.words.passed import says_passed
from comeback.cli.words.search import named_signs
from comeback.engine.case.events import Draft, Kind
from comeback.engine.case_log.fields import storable
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

STAYING = frozenset(
    {Kind.NOTED, Kind.WARNED, Kind.RENAMED, Kind.REGISTERED, Kind.GIVEN, Kind.READ_BACK, Kind.DRIVING,
     Kind.CONTACT, Kind.SAID}
)  # fmt: skip
"""Events after which the same step is still asked."""
Recorded = tuple[ScreenState, bool]
"""The state afterwards; False if it was not recorded, because what came in meanwhile makes it a question anew."""


def commit(
    session: PromptSession, state: ScreenState, kind: str, payload: Mapping[str, Any], echo: str = ""
) -> Recorded:
    """Open the case if this is its first event, then append; `echo` is said once it is saved. Raises NotStorable."""
    walk = state.walk
    draft = storable(walk.draft(kind, places.now(), session.by, **payload))  # before a case is opened for it
    if not state.opened:
        opened = {"car": session.car, "audience": walk.audience.value, **session.opening}
        opening, version = Draft(Kind.OPENED, places.now(), session.by, opened), walk.knowledge.version
        first = insist(session, walk, [draft], lambda: session.log().open_case(opening, version, secrets.choice))
        state = replace(state, walk=Walk(walk.knowledge, (first,), walk.audience))
    state, recorded = append(session, state, [draft], echo)
    if recorded and walk.step_override is not None and kind in STAYING:
        state = replace(state, walk=state.walk.with_step(walk.step_override))
    return replace(state, page=0), recorded


def append(session: PromptSession, state: ScreenState, drafts: Sequence[Draft], echo: str = "") -> Recorded:
    """Record the drafts; what others recorded meanwhile is taken in and told, nothing is lost."""
    before = state.walk
    walk, came, recorded = insist(session, before, drafts, lambda: meanwhile.append(before, session.log(), drafts))
    for said in (came, echo if recorded else ""):
        session.noted.extend(session.look.styled("say", said))
    if not all(draft.kind in STAYING for draft in drafts):
        return state.next_step(walk), recorded
    if came:  # the same step, all of it to be read again
        return replace(state.next_step(walk), editing=state.editing, found=state.found), recorded
    return replace(state, walk=walk), recorded


def record(session: PromptSession, state: ScreenState, reply: Record) -> ScreenState:
    """Commit a reply to the step, or to the answer that is being edited; what comes next is to be shown."""
    walk, editing, words = state.walk, state.editing, state.words
    payload = payload_of(walk, reply, words, editing is not None)
    if editing is None:
        state, recorded = commit(session, state, reply.kind, payload, reply.echo)
    else:
        drafts = corrections.corrected(walk, editing, reply.kind, payload, places.now(), session.by)
        state, recorded = append(session, state, drafts, reply.echo)
    if recorded and reply.kind == Kind.COMPLAINT:
        state = heed_words(session, state)
        state = has_passed(session, state) if reply.passed or says_passed(words, state.walk.view.lit) else state
    told = state.just_told or (recorded and reply.kind in (Kind.ADVISED, Kind.SOLVED))
    return replace(state, just_told=told, found=(), words="", page=0, editing=None, due=True)


def has_passed(session: PromptSession, state: ScreenState, _text: str = "") -> ScreenState:
    """Record that the trouble has passed by itself, if the knowledge has words for it."""
    if state.walk.knowledge.passing is None:
        return state
    check, result = state.walk.knowledge.passing
    payload = state.walk.answers({check: result}, "", "").payload
    return commit(session, state, Kind.ANSWERED, payload, wording.PASSED)[0].shown()


def heed_words(session: PromptSession, state: ScreenState) -> ScreenState:
    """A caller whose own words name a danger does not drive, though no complaint on the list was the right one."""
    walk, knowledge = state.walk, state.walk.knowledge
    chosen = knowledge.complaints.get(walk.case.complaint or "")
    signs = named_signs(knowledge, walk.case.words)
    if walk.audience is not Audience.PHONE or session.reader.scripted or chosen is None or chosen.reports or not signs:
        return state
    needed = max(knowledge.checks[signs[0]].red_flag.values())
    now = walk.effective_advice(walk.advice().disposition)
    if needed <= now:
        return state
    raised = {"ruled": now.word, "to": needed.word, "reason": walk.case.words, "second": ""}
    said = wording.WORDS_OF_DANGER.format(words=walk.case.words[:60], to=knowledge.dispositions[needed].name)
    return commit(session, state, Kind.OVERRIDDEN, raised, said)[0]


def payload_of(walk: Walk, reply: Record, words: str, editing: bool) -> dict[str, Any]:
    """The payload of the event that records `reply` to the walk's step; `words` are the customer's own."""
    payload, step = dict(reply.payload), walk.step
    if reply.kind == Kind.COMPLAINT:
        if walk.case.complaint is not None and not editing:
            return {"words": words, "further": True} | payload
        return {"words": corrections.all_words(walk, words) or walk.case.words} | payload
    if reply.kind == Kind.ANSWERED:
        second = isinstance(step, steps.DoRepair) or (isinstance(step, steps.MakeCheck) and step.again is not None)
        again = second and not editing
        return payload | {"audience": walk.audience.value} | ({"again": True} if again else {})
    if reply.kind == Kind.CLOSED and isinstance(step, steps.CloseCase):  # causes that a person named go first
        return {
            "complaint": step.complaint, "words": walk.case.words, "causes": list(step.causes),
            "repairs": list(step.repairs), "proven": step.proven, "in_vain": list(step.in_vain),
        } | payload  # fmt: skip
    if isinstance(step, steps.Advise) and reply.kind in (Kind.ADVISED, Kind.SOLVED, Kind.READ_BACK, Kind.REFUSED):
        return payload | {
            "ruled": step.disposition.word, "floor": step.floor.word, "flags": list(step.flags),
            "read_back": confirm_back(walk, step),
        }  # fmt: skip
    return payload
