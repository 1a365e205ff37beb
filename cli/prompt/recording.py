"""What is typed becomes events: each is in the log before the next step shows; the walk moves on only afterwards."""

import secrets
from collections.abc import Iterable, Sequence
from dataclasses import replace

from comeback.cli import places
from comeback.cli.prompt.outage import append_behind, insist
from comeback.cli.prompt.replies import services_noted
from comeback.cli.prompt.reply import Record
from comeback.cli.prompt.session import PromptSession, ScreenState
from comeback.cli.screens import wording
from comeback.cli.screens.earlier_answers import EarlierAnswer, earlier_answers
from comeback.cli.screens.spoken import confirm_back
from comeback.cli.words.passed import says_passed
from comeback.cli.words.search import named_signs
from comeback.cli.words.sentence import lights_named, work_said
from comeback.engine.case import facts
from comeback.engine.case.case import joined_words
from comeback.engine.case.events import Draft, Event, Kind
from comeback.engine.case.facts import fact_of
from comeback.engine.case.result_words import result_alone
from comeback.engine.case_log.fields import storable
from comeback.engine.walk import steps
from comeback.engine.walk.opening import fitting_complaints
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import FEATURES, Audience

STAYING = frozenset(
    {Kind.NOTED, Kind.WARNED, Kind.RENAMED, Kind.REGISTERED, Kind.GIVEN, Kind.READ_BACK, Kind.DRIVING,
     Kind.CONTACT, Kind.SAID}
)  # fmt: skip
"""Events after which the same step is still asked."""
Recorded = tuple[ScreenState, bool]
"""The state afterwards; False if it was not recorded, because what came in meanwhile makes it a question anew."""


def commit(session: PromptSession, state: ScreenState, fact: facts.Fact, echo: str = "") -> Recorded:
    """Open the case if this is its first event, then append; `echo` is said once it is saved. Raises NotStorable."""
    walk = state.walk
    draft = storable(walk.draft(fact, places.now(), session.by))  # before a case is opened for it
    if not state.opened:
        opened = facts.Opened(session.car, walk.audience, session.shop)
        opening, version = opened.draft(places.now(), session.by), walk.knowledge.version
        first = insist(session, walk, [draft], lambda: session.log().open_case(opening, version, secrets.choice))
        state = replace(state, walk=Walk(walk.knowledge, (first,), walk.audience))
    state, recorded = append(session, state, [draft], echo)
    if recorded and walk.step_override is not None and fact.kind in STAYING:
        state = replace(state, walk=state.walk.with_step(walk.step_override))
    return replace(state, page=0), recorded


def append(session: PromptSession, state: ScreenState, drafts: Sequence[Draft], echo: str = "") -> Recorded:
    """Record the drafts; what others recorded meanwhile is taken in and told, nothing is lost."""
    before = state.walk
    walk, came, recorded = insist(session, before, drafts, lambda: append_behind(before, session.log(), drafts))
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
    fact = completed(walk, reply.fact, words, editing is not None)
    if editing is None:
        state, recorded = commit(session, state, fact, reply.echo)
    else:
        drafts = corrected(walk, editing, fact, places.now(), session.by)
        state, recorded = append(session, state, drafts, reply.echo)
    if recorded and isinstance(fact, facts.ComplaintNamed):
        state = lights_said(session, service_said(session, heed_words(session, state)))
        state = has_passed(session, state) if reply.passed or says_passed(words, state.walk.view.lit) else state
    told = state.just_told or (recorded and isinstance(fact, facts.Advised | facts.Solved))
    return replace(state, just_told=told, found=(), words="", page=0, editing=None, due=True)


def has_passed(session: PromptSession, state: ScreenState, _text: str = "") -> ScreenState:
    """Record that the trouble has passed by itself, if the knowledge has words for it."""
    if state.walk.knowledge.passing is None:
        return state
    check, result = state.walk.knowledge.passing
    told = facts.Answered({check: result}, audience=state.walk.audience)
    return commit(session, state, told, "Noted: it has stopped by itself.")[0].shown()


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
    raised = facts.Overridden(now.word, needed.word, walk.case.words)
    said = wording.WORDS_OF_DANGER.format(words=walk.case.words[:60], to=knowledge.dispositions[needed].name)
    return commit(session, state, raised, said)[0]


def service_said(session: PromptSession, state: ScreenState) -> ScreenState:
    """The service that the customer's words name is recorded, so that nobody is asked for what was said."""
    walk = state.walk
    if walk.case.services or session.reader.scripted:
        return state
    said = work_said(walk.knowledge, walk.case.words)
    if not said.sure:
        return state
    first, *also = said.services
    return commit(
        session, state, facts.ServiceNamed(first, tuple(also)), services_noted(walk.knowledge, said.services)
    )[0]


def lights_said(session: PromptSession, state: ScreenState) -> ScreenState:
    """A light that the customer named beside the complaint is recorded as said; nobody is asked about it again."""
    walk, checks = state.walk, state.walk.knowledge.checks
    said = {} if session.reader.scripted else lights_named(walk.knowledge, walk.case.words)
    new = {check: result for check, result in said.items() if check not in walk.view.results}
    if not new or walk.case.closed is not None:
        return state
    echo = "; ".join(result_alone(checks[check], result) for check, result in new.items())
    return commit(session, state, facts.Answered(new, audience=walk.audience), f"Noted: {echo}.")[0]


def completed(walk: Walk, fact: facts.Fact, words: str, editing: bool) -> facts.Fact:
    """The reply to the walk's step with what the step itself knows of it; `words` are the customer's own."""
    step = walk.step
    match fact:
        case facts.ComplaintNamed() if walk.case.complaint is not None and not editing:
            return replace(fact, words=fact.words or words, further=True)
        case facts.ComplaintNamed():
            named = (one.words for one in map(fact_of, walk.events) if isinstance(one, facts.ComplaintNamed))
            said = joined_words(*named, words)  # all that was ever said of it, also what was taken back
            return replace(fact, words=fact.words or said or walk.case.words)
        case facts.Answered():
            second = isinstance(step, steps.DoRepair) or (isinstance(step, steps.MakeCheck) and step.again is not None)
            return replace(fact, audience=walk.audience, again=fact.again or (second and not editing))
        case facts.Closed() if isinstance(step, steps.CloseCase):
            return replace(
                fact, complaint=step.complaint, words=walk.case.words,
                repairs=step.repairs, proven=step.proven, in_vain=step.in_vain,
            )  # fmt: skip
        case facts.AdviceTold() if isinstance(step, steps.Advise):
            ruled, floor = step.disposition.word, step.floor.word
            return replace(fact, ruled=ruled, floor=floor, flags=step.flags, read_back=confirm_back(walk, step))
    return fact


def look_at(walk: Walk, check: str) -> steps.MakeCheck:
    """The check on a screen of its own, asked for by a person; with the danger signs that keep the engine off."""
    entry = walk.knowledge.checks[check]
    return steps.MakeCheck(check, entry.minutes, 0.0, (), despite=walk.view.despite(entry.runs_engine))


def step_again(walk: Walk, item: EarlierAnswer) -> steps.Step:
    """The step that asks for this item, as it would be asked now."""
    knowledge = walk.knowledge
    if item.check is not None:
        return look_at(walk, item.check)
    match fact_of(item.event):
        case facts.ConditionNamed(feature):
            return steps.ChooseCondition(feature, FEATURES[feature])
        case facts.ComplaintNamed():
            return steps.ChooseComplaint(fitting_complaints(knowledge, walk.case))
    return steps.ChooseService(tuple(knowledge.services))


def corrected(walk: Walk, item: EarlierAnswer, fact: facts.Fact, at: str, by: str) -> list[Draft]:
    """Two drafts: the earlier answer taken back, and the new one in its place; what shared its screen is kept."""
    number, before = item.event.number, fact_of(item.event)
    if isinstance(fact, facts.Answered) and isinstance(before, facts.Answered):
        anew = fact.results
        readings = {check: text for check, text in before.readings.items() if check not in anew}
        since = _since(item.event, before, [check for check in before.results if check not in anew])
        results = {**before.results, **anew}
        fact = replace(before, results=results, readings=readings | {**fact.readings}, since=since)
    if isinstance(fact, facts.ComplaintNamed) and isinstance(before, facts.ComplaintNamed):
        fact = replace(fact, further=fact.further or before.further)
    gone = walk.draft(facts.TakenBack(number, "corrected"), at, by)
    return [gone, walk.draft(replace(fact, instead_of=number), at, by)]


def _since(event: Event, before: facts.Answered, kept: Iterable[str]) -> dict[str, tuple[str, str]]:
    """When and by whom the answers that are kept were given."""
    return {check: before.since.get(check, (event.at, event.by)) for check in kept}


def no_longer_known(walk: Walk) -> list[EarlierAnswer]:
    """Answers that this version of the knowledge does not have any more: their check or result is gone."""
    knowledge = walk.knowledge

    def known(item: EarlierAnswer) -> bool:
        match fact_of(item.event):
            case facts.Answered():
                entry = knowledge.checks.get(str(item.check))
                return entry is not None and (item.result is None or item.result in entry.results)
            case facts.ConditionNamed(feature, value):
                return value is None or value in FEATURES[feature]
            case facts.ComplaintNamed(complaint):
                return complaint in knowledge.complaints
            case facts.ServiceNamed() as named:
                return all(service in knowledge.services for service in named.all)
        return True

    return [item for item in earlier_answers(walk) if not known(item)]


def taken_out(walk: Walk, stale: list[EarlierAnswer], at: str, by: str) -> list[Draft]:
    """Drafts that take the stale answers out and leave the others of their events as they were."""
    drafts = []
    for event in {item.event.number: item.event for item in stale}.values():
        gone = {item.check for item in stale if item.event.number == event.number}
        why = "the knowledge no longer has it"
        drafts.append(walk.draft(facts.TakenBack(event.number, why), at, by))
        before = fact_of(event)
        if isinstance(before, facts.Answered) and (left := {c: r for c, r in before.results.items() if c not in gone}):
            kept = replace(before, results=left, since=_since(event, before, left), instead_of=event.number)
            drafts.append(walk.draft(kept, at, by))
    return drafts
