"""Walks that were begun before: offered on the first screen of a new one, resumed, signed with a name."""

from dataclasses import replace

from comeback.cli import places
from comeback.cli.look import Styled
from comeback.cli.numbers import number_in
from comeback.cli.prompt.recording import append, commit, no_longer_known, taken_out
from comeback.cli.prompt.session import PromptSession, ScreenState, command_for
from comeback.cli.records.case_list import offer_lines, offer_note
from comeback.cli.records.finding import earlier_cases
from comeback.cli.screens import wording
from comeback.cli.screens.advice_now import advice_now, state_of
from comeback.cli.screens.earlier_answers import earlier_answers
from comeback.engine.case.case import read_case
from comeback.engine.case.facts import TakenOver
from comeback.engine.case_log.protocol import CaseLogError, LogUnreachable
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

EARLIER_SHOWN = 2


def show_offers(session: PromptSession, state: ScreenState) -> None:
    """Below the keys of the first screen of a new walk: the unfinished ones, and earlier cases of this car."""
    if state.walk.events[1:] or not session.reader.interactive:
        return
    others = _earlier(session, state.walk)[:EARLIER_SHOWN]
    earlier = [("faint", f"Earlier case of this car: {name}.  resume {name}  continues it.") for name in others]
    session.show([*offer_note(session.offers(), session.look), *earlier])


def _earlier(session: PromptSession, walk: Walk, registration: str = "") -> list[str]:
    """Ids of other cases of this car, by its license plate or by the words for it."""
    car = walk.case.car or session.car
    known = (car or registration) and session.log.there
    return earlier_cases(session.log(), car, registration, walk.case.id) if known else []


def say_earlier(session: PromptSession, walk: Walk, registration: str) -> None:
    """Name the case that the car with this license plate had before."""
    try:
        for name in _earlier(session, walk, registration)[:1]:
            recorded = session.log().events(name)
            state = state_of(read_case(recorded), advice_now(walk.knowledge, recorded))
            command = f"comeback {command_for(walk.audience)}"
            session.say(f"Earlier case of this car: {name}, {state}. To continue that one: q, then  {command} {name}")
    except LogUnreachable as error:
        session.say(str(error))
    except CaseLogError:  # damaged, or deleted meanwhile: `comeback cases` says so
        pass


def resume(session: PromptSession, state: ScreenState, text: str) -> ScreenState | str:
    """Go on with an unfinished walk, by its place in the list or its case id; without either, list them."""
    found, walk = session.offers(), state.walk
    if state.opened:
        return f"You are in case {walk.case.id}. Leave it first (q); it is saved."
    ids = [offer.case for offer in found]
    number = number_in(text, len(ids))
    wanted = text.upper() if number is None else ids[number - 1]
    if wanted not in [*ids, *_earlier(session, walk)]:
        session.show(offer_lines(found, session.look) or [("say", "No unfinished cases.")])
        return state
    state = go_on(session, state, wanted)
    state = replace(state, reopened=isinstance(state.walk.step, steps.Finished))
    return recap(session, state, "Continuing this case:")


def recap(session: PromptSession, state: ScreenState, title: str) -> ScreenState:
    """Where one is: the last answer, and the step again."""
    lines: list[Styled] = [("title", title)]
    for last in earlier_answers(state.walk)[-1:]:
        lines += session.look.styled("plain", f"Last answer: {last.asked}: {last.said} ({last.event.by})")
    session.show(lines)
    return state.shown()


def go_on(session: PromptSession, state: ScreenState, case: str) -> ScreenState:
    """The walk of a recorded case, taken over by the person here now. Raises CaseLogError."""
    walk = Walk(state.walk.knowledge, session.log().events(case), state.walk.audience)
    return take_over(session, replace(state, walk=walk))


def take_over(session: PromptSession, state: ScreenState) -> ScreenState:
    """Go on with a recorded case: note the bay's take-over, take out what today's knowledge no longer has."""
    walk = state.walk
    old, new, last = walk.events[-1].knowledge, walk.knowledge.version, walk.events[-1].by
    state = replace(state, sat_down=walk.case.last)
    if session.reader.interactive and last != session.by and session.by == places.login_name():
        session.say(wording.SIGNED.format(by=session.by, last=last))  # not by a login name unawares
    if walk.audience is Audience.BAY and walk.case.audience is not Audience.BAY:
        state, _ = commit(session, state, TakenOver())
    stale = no_longer_known(state.walk)
    if stale:
        told = wording.STALE.format(what="; ".join(item.asked for item in stale))
        drafts = taken_out(state.walk, stale, places.now(), session.by)
        state, _ = append(session, state, drafts, told)
    if old != new:
        session.say(wording.KNOWLEDGE_CHANGED.format(old=old, new=new))
    return state
