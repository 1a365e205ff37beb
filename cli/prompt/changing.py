"""What people type that is recorded although it is no answer to the step: go back, correct, note, name, hand over."""

from dataclasses import replace

from comeback.cli.numbers import number_in
from comeback.cli.prompt.ending_replies import override
from comeback.cli.prompt.recording import commit, record, step_again
from comeback.cli.prompt.reply import Record, Remark
from comeback.cli.prompt.resume import say_earlier
from comeback.cli.prompt.session import PromptSession, ScreenState, command_for
from comeback.cli.prompt.side_questions import hint
from comeback.cli.screens import wording
from comeback.cli.screens.earlier_answers import answer_before, earlier_answers, open_answers
from comeback.cli.screens.event_text import event_text
from comeback.cli.screens.heading import shortened
from comeback.cli.screens.told_to_bay import standing_signs
from comeback.cli.words import spelling
from comeback.engine.case import facts
from comeback.engine.walk import steps
from comeback.kb.vocabulary import Audience


def go_back(session: PromptSession, state: ScreenState, _text: str) -> ScreenState | str:
    """One step back: out of a list or a jump, else the last answer is taken back and kept to be shown."""
    walk = state.walk
    if state.found or walk.step_override is not None:
        if walk.step_override is not None:
            session.say(wording.LEFT_FOCUS)
        return replace(state, walk=walk.with_step(None), found=(), editing=None, page=0, due=True)
    last = walk.last_to_take_back()
    if last is None:
        return wording.NOTHING_TO_TAKE_BACK
    said = wording.TAKEN_BACK.format(what=event_text(walk.knowledge, last))
    return commit(session, state, facts.TakenBack(last.number), said)[0].shown()


def keep(session: PromptSession, state: ScreenState, _text: str) -> ScreenState | str:
    """Give the answer again that was given before going back."""
    earlier = answer_before(state.walk)
    fact = facts.fact_of(earlier) if earlier is not None and state.editing is None else None
    if earlier is None or fact is None:
        return wording.NOT_AN_ANSWER.format(text="k", hint=hint(session, state))
    echo = f"Kept: {event_text(state.walk.knowledge, earlier)}"
    return record(session, state, Record(replace(fact, instead_of=None), echo))


def edit(session: PromptSession, state: ScreenState, text: str) -> ScreenState | str:
    """Go to an earlier answer by its number, to answer it anew."""
    found = earlier_answers(state.walk)
    number = number_in(text, len(found))
    if number is None:
        return wording.NO_ITEM.format(number=shortened(text, 12))
    item = found[number - 1]
    return state.with_step(step_again(state.walk, item), item)


def open_items(session: PromptSession, state: ScreenState, text: str) -> ScreenState | str:
    """List what was answered "don't know", or go to one of them; the walk goes on afterwards where it was."""
    found = open_answers(state.walk)
    if not found:
        return wording.NO_OPEN
    number = number_in(text, len(found))
    if number is not None:
        item = found[number - 1]
        return state.with_step(step_again(state.walk, item), None if item.check else item)
    session.show([("title", "Not known yet.  open 2  asks no. 2 now.")])
    for number, item in enumerate(found, 1):
        session.show(session.look.styled("plain", item.asked, 7, f"  {number:3d}  "))
    return state


def give(session: PromptSession, state: ScreenState, text: str) -> ScreenState:
    """Hand the walk over to somebody by name; it stands in that person's list of unfinished walks."""
    state, given = commit(session, state, facts.Given(text))
    if given:
        case, command = state.walk.case.id, command_for(state.walk.audience)
        session.say(wording.GIVEN.format(to=text, case=case, command=command))
    return state


def contact(session: PromptSession, state: ScreenState, text: str) -> ScreenState:
    """The number to call back on, or the place where the car is."""
    word, _, told = text.partition(" ")
    said = facts.Contact(phone=told) if word.lower() == "callback" else facts.Contact(place=told)
    return commit(session, state, said, wording.CONTACT_NOTED.format(text=told))[0]


def registration(session: PromptSession, state: ScreenState, text: str) -> ScreenState | str:
    """The license plate, read back by the spelling alphabet; confirmed once it was typed twice alike, kept before."""
    typed, case = spelling.tidy(text), state.walk.case
    if not typed:
        return wording.PLATE_EMPTY
    alike = next((one for one in case.unconfirmed if spelling.same(one, typed)), None)
    if alike is not None:
        state, _ = commit(session, state, facts.Registered(alike), wording.PLATE_DONE.format(text=alike))
        say_earlier(session, state.walk, alike)
        return state
    before = case.unconfirmed[-1:] or ((case.registration,) if case.registration else ())
    echo = wording.PLATE_AGAIN.format(spelt=spelling.spelt(text), text=typed)
    if before and not spelling.same(before[0], typed):
        echo = wording.PLATE_DIFFERS.format(text=before[0])
    return commit(session, state, facts.Registered(typed, read_back=False), echo)[0]


def tell(_session: PromptSession, state: ScreenState, _text: str) -> ScreenState:
    """The advice read out once more after the call has ended."""
    return replace(state.without_told(), walk=state.walk.with_step(state.walk.advice()), due=True)


def change_urgency(session: PromptSession, state: ScreenState, text: str) -> ScreenState | str:
    """Set another disposition, then show the advice again."""
    if state.walk.audience is not Audience.PHONE:
        return wording.URGENCY_PHONE_ONLY
    made = override(state.walk, text, session.by)
    if isinstance(made, Remark):
        return made.text
    fact, echo = made
    state, changed = commit(session, replace(state, editing=None), fact)
    if changed:
        for said in (echo, *standing_signs(state.walk, fact.reason)):
            session.say(said)
    if not isinstance(state.walk.step, steps.Advise):
        state = replace(state, walk=state.walk.with_step(state.walk.advice()))
    return state.shown()


def leave(_session: PromptSession, state: ScreenState, _text: str) -> ScreenState:
    """Everything is saved already."""
    return replace(state, leaving=True)
