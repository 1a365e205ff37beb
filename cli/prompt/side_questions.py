"""Questions of a call that stand beside the steps of the walk: driving, what has changed, where to reach the caller."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

from comeback.cli.look import Styled, aloud
from comeback.cli.prompt.recording import commit
from comeback.cli.prompt.replies import read_answer
from comeback.cli.prompt.reply import NO, UNKNOWN_WORDS, YES, Record, Remark
from comeback.cli.prompt.session import PromptSession, ScreenState
from comeback.cli.screens import screens, wording
from comeback.cli.screens.earlier_answers import earlier_answers
from comeback.cli.screens.spoken import standing_signs
from comeback.cli.screens.stop_screens import DRIVING_KEY, on_the_road
from comeback.engine.case import facts
from comeback.engine.case.case import AGREED, standing
from comeback.engine.case.events import Kind
from comeback.engine.walk import steps
from comeback.kb.schema import Check
from comeback.kb.vocabulary import Audience, Disposition

NOBODY = SKIP = "x"
FOR_THE_BAY = "for the bay"
Taken = tuple[ScreenState, str]
"""The state after an answer, and a remark (or empty)."""


@dataclass(frozen=True)
class SideQuestion:
    """One question: what is read aloud, how it is answered, what an answer does, what must be seen before it."""

    say: str
    hint: str
    take: Callable[[PromptSession, ScreenState, str], Taken]
    before: str = ""
    check: Check | None = None
    """The check that it asks, whose results are listed."""
    dangers: bool = True
    """Words of danger in the answer lead to that danger; a place or a number may hold such words."""


def side_question(session: PromptSession, state: ScreenState) -> SideQuestion | None:
    """The question that goes before the step now, if any."""
    ended = isinstance(state.walk.step, steps.Finished)
    if state.walk.audience is not Audience.PHONE or session.reader.scripted:
        return None
    if _driving_due(session, state):
        before = wording.BACK_ON_THE_LINE if ended else ""
        return SideQuestion(wording.DRIVING, _driving_hint(state), _take_driving, before)
    if _changed_due(state):
        return SideQuestion(wording.CHANGED, wording.CHANGED_HINT, _take_changed)
    just_told = session.reader.interactive and state.just_told and ended
    return (_contact(state) or _for_the_bay(state)) if just_told else None


def lines(session: PromptSession, state: ScreenState, question: SideQuestion) -> list[Styled]:
    """The question, read aloud; before it whatever must be seen first."""
    first = session.look.styled("title", question.before)
    answers = screens.result_lines(question.check, session.look) if question.check else ()
    return [*first, *aloud(question.say, session.look), ("plain", ""), *answers]


def hint(session: PromptSession, state: ScreenState) -> str:
    """How the present question can be answered, in one line."""
    if state.stop is not None:
        return state.stop.hint
    if state.unread and not isinstance(state.walk.step, steps.ReadPanel):
        return wording.PAGE_HINT_ROUND if isinstance(state.walk.step, steps.LookRound) else wording.PAGE_HINT
    question = side_question(session, state)
    return question.hint if question is not None else screens.hint(state.walk)


def feet(session: PromptSession, state: ScreenState) -> list[Styled]:
    """The keys that answer the present question, and those that work everywhere."""
    return [*session.look.styled("faint", hint(session, state)), *session.look.styled("faint", wording.KEYS)]


def goes_on(session: PromptSession, state: ScreenState) -> bool:
    """Until the walk ends; one that is opened again after its end, until it is left or ends anew."""
    ended = isinstance(state.walk.step, steps.Finished) and not state.reopened
    return not ended or side_question(session, state) is not None


def _driving_due(session: PromptSession, state: ScreenState) -> bool:
    """Once in each sitting, and again when the caller calls again; on a pipe only where a call begins."""
    walk, case = state.walk, state.walk.case
    asked = [event.number for event in standing(walk.events) if event.kind == Kind.DRIVING]
    if not session.reader.interactive or not state.sat_down:
        ending = isinstance(walk.step, steps.Advise | steps.Finished)
        if ending or isinstance(walk.step_override, steps.ChooseComplaint):
            return False  # a danger was named at once; who must get clear is told so, whether driving or not
        return case.driving is None and case.service is None and not asked
    if case.closed is not None or case.handed_over is not None:
        return False
    return state.nobody < max(state.sat_down, case.again) and not any(number > state.sat_down for number in asked)


def _driving_hint(state: ScreenState) -> str:
    return wording.DRIVING_AGAIN_HINT if state.sat_down else wording.DRIVING_HINT


def _take_driving(session: PromptSession, state: ScreenState, text: str) -> Taken:
    lower, knowledge = text.lower(), state.walk.knowledge
    if lower == NOBODY and state.sat_down:  # nothing was asked, so nothing is recorded
        since = max(state.sat_down, state.walk.case.again)
        return replace(state, nobody=since, passed=state.passed | {DRIVING_KEY}), ""
    if lower not in YES | NO | UNKNOWN_WORDS:
        advice = on_the_road(knowledge, text)
        session.show(aloud(advice, session.look) if advice else [])
        shown = wording.NOT_AN_ANSWER if text else wording.EMPTY
        return state, shown.format(text=text[:40], hint=_driving_hint(state))
    driving = True if lower in YES else False if lower in NO else None
    state = replace(state, passed=state.passed - {DRIVING_KEY})
    return commit(session, state, facts.Driving(driving))[0], ""


def _changed_due(state: ScreenState) -> bool:
    """After the danger signs of another call; a caller who must be towed or get clear hears that first."""
    walk = state.walk
    if not walk.case.again or walk.step_override is not None or walk.case.complaint is None:
        return False
    if isinstance(walk.step, steps.DangerScreen | steps.TakeOneBack | steps.Finished):
        return False
    said = any(event.kind == Kind.SAID and event.number > walk.case.again for event in walk.events)
    return not said and (walk.advice_due or Disposition.WATCH) < Disposition.TOW


def _take_changed(session: PromptSession, state: ScreenState, text: str) -> Taken:
    if not text:
        return state, wording.EMPTY.format(hint=wording.CHANGED_HINT)
    nothing = text.lower() in NO | UNKNOWN_WORDS | {"nothing"}
    state, recorded = commit(session, state, facts.Said("" if nothing else text))
    if nothing or not recorded:
        return state, wording.NOTED if recorded else ""
    walk = state.walk  # which answers may have to be changed after these words
    number = next((n for n, item in enumerate(earlier_answers(walk), 1) if item.asked == "Complaint"), 0)
    name = walk.knowledge.complaints[walk.case.complaint or ""].name
    return state, " ".join([wording.CHANGED_NOTED.format(complaint=name, number=number), *standing_signs(walk, text)])


def _contact(state: ScreenState) -> SideQuestion | None:
    """Where the car stands, then which number to call back on: once the caller agreed that it is fetched."""
    case, last = state.walk.case, state.walk.case.last_told
    if last is None or last.how != AGREED or Disposition.of(last.disposition) < Disposition.TOW:
        return None
    before = wording.CONTACT_CLEAR if last.disposition == Disposition.GET_CLEAR.word else ""
    for field, say in (("place", wording.PLACE), ("phone", wording.CALLBACK)):
        if field not in state.left_open and not getattr(case, field):
            return SideQuestion(say, wording.CONTACT_HINT, partial(_take_contact, field), before, dangers=False)
    return None


def _take_contact(field: str, session: PromptSession, state: ScreenState, text: str) -> Taken:
    if not text:
        return state, wording.EMPTY.format(hint=wording.CONTACT_HINT)
    if text.lower() in NO | UNKNOWN_WORDS | {SKIP}:
        return replace(state, left_open=state.left_open | {field}), ""
    told = facts.Contact(phone=text) if field == "phone" else facts.Contact(place=text)
    return commit(session, state, told, wording.CONTACT_NOTED.format(text=text))[0], ""


def _for_the_bay(state: ScreenState) -> SideQuestion | None:
    """What only the customer knows and saves the bay most, asked once the call ended with its advice."""
    asked = state.walk.asked_after_advice if FOR_THE_BAY not in state.left_open else None
    if asked is None:
        return None
    check, take = state.walk.knowledge.checks[asked.check], partial(_take_for_the_bay, asked)
    return SideQuestion(str(check.say), wording.FOR_THE_BAY_HINT, take, wording.FOR_THE_BAY, check)


def _take_for_the_bay(asked: steps.Step, session: PromptSession, state: ScreenState, text: str) -> Taken:
    if text.lower() == SKIP:
        return replace(state, left_open=state.left_open | {FOR_THE_BAY}), ""
    if not text:
        return state, wording.EMPTY.format(hint=wording.FOR_THE_BAY_HINT)
    reply = read_answer(state.walk.with_step(asked), text, hint=wording.FOR_THE_BAY_HINT)
    if isinstance(reply, Record) and isinstance(reply.fact, facts.Answered):
        return commit(session, state, replace(reply.fact, audience=state.walk.audience))[0], ""
    return state, reply.text if isinstance(reply, Remark) else wording.FOR_THE_BAY_HINT
