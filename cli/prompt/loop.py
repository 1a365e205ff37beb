"""The loop of a walk at a keyboard: show what is due, read a line, respond to it; nothing else holds the state.

A case is opened with the first reply, and every reply is committed before the next step shows.
"""

import shlex
from contextlib import suppress
from dataclasses import replace

from comeback.cli import exit_codes
from comeback.cli.numbers import number_in
from comeback.cli.prompt.recording import commit, record
from comeback.cli.prompt.registry import BY_NAME, Stops, read_reply, run_command
from comeback.cli.prompt.reply import YES, Command, Doubt, Record, Remark, Words
from comeback.cli.prompt.resume import recap
from comeback.cli.prompt.session import PromptSession, ScreenState, command_for
from comeback.cli.prompt.side_questions import SideQuestion, goes_on, hint, side_question
from comeback.cli.prompt.step_screen import show_screen, stops_on_page
from comeback.cli.prompt.volunteering import danger_named, match_rest, match_words, pick
from comeback.cli.readers import Idle
from comeback.cli.screens import wording
from comeback.cli.screens.stop_screens import DRIVING_KEY, Stop, driving_stop, on_the_road
from comeback.cli.signals import Stopped, caught
from comeback.engine.case import facts
from comeback.engine.case.events import TOLD
from comeback.engine.case_log.fields import NotStorable
from comeback.engine.case_log.protocol import LogUnreachable
from comeback.engine.safe_text import harmless
from comeback.engine.walk import steps

LONGEST_LINE = 2000
"""Characters of one typed line: a pasted file is no answer."""
READ_FIRST = (facts.Answered, facts.Repaired, facts.Closed)
"""What is recorded only once every page of its step was on the screen."""


def run(session: PromptSession, state: ScreenState) -> tuple[int, ScreenState]:
    """Go on until the walk ends or is left. Returns an exit code and the state then."""
    interactive, warned = session.reader.interactive, False
    state = replace(state, reopened=isinstance(state.walk.step, steps.Finished) and interactive)
    while True:
        if state.due:
            state = show_screen(session, state)
        session.show()
        if not goes_on(session, state):
            return exit_codes.DONE, state
        try:
            typed = session.reader.ask(state.walk)
        except Idle:
            state = recap(session, state, wording.RECAP)
            continue
        except EOFError:
            return _leave(session, state), state
        except Stopped as stopped:
            caught()
            with suppress(OSError):  # the terminal may be gone; everything is saved already
                session.say(f"Stopped by {stopped.name}. ")
                _leave(session, state)
            return stopped.status, state
        except KeyboardInterrupt:
            if warned or not interactive:
                return _leave(session, state, exit_codes.INTERRUPTED), state
            warned = True
            session.say(wording.AGAIN)
            continue
        warned = False
        try:
            state = respond(session, state, typed)
        except NotStorable as error:  # too long for its field: said, and asked again
            session.say(str(error))
        except LogUnreachable as error:  # something was only to be read: the walk itself goes on without it
            if not interactive:
                raise
            session.say(str(error))
            state = state.shown()
        if state.leaving:
            return _leave(session, state), state


def respond(session: PromptSession, state: ScreenState, typed: str) -> ScreenState:
    """The state after a typed line, whatever it is: an answer, a command, or something to be said about it."""
    if len(typed) > LONGEST_LINE:
        session.say(wording.TOO_LONG.format(length=len(typed), limit=LONGEST_LINE))
        return state
    before, state, typed = state, replace(state, seen=(), rest=(), doubt=None), harmless(typed)  # lists had their turn
    text = " ".join(typed.lower().split())
    if before.doubt is not None and text in YES:
        return record(session, state, before.doubt)
    if state.stop is not None and text == state.stop.word:
        return pass_stop(session, state, state.stop)
    number = number_in(text, len(before.seen))
    if number is not None:
        return pick(state, before.seen[number - 1])
    reply = read_reply(state, typed, hint(session, state), session.units)
    question = side_question(session, state) if state.stop is None else None
    if question is not None and not isinstance(reply, Command):
        return _answer_beside(session, state, question, " ".join(typed.split()))
    if state.stop is not None:
        allowed = BY_NAME[reply.name].on_stop if isinstance(reply, Command) else Stops.NONE
        if allowed is Stops.NONE or (allowed is Stops.ADVICE and state.stop.word != TOLD):
            return stay(session, state, state.stop, typed)
    match reply:
        case Command("more"):
            return run_command(session, replace(state, rest=before.rest), "more", "")
        case Command("back") if before.seen:  # out of that list
            return state.shown()
        case Command(name, argument):
            return run_command(session, state, name, argument)
        case Remark(said):  # unless the words name a danger; of a service that is judged with the services
            judged = state.editing is not None or isinstance(state.walk.step, steps.ChooseService)
            danger = None if judged else danger_named(session, state, typed)
            if danger is None:
                session.say(said)
            return danger or state
        case Words(said):
            return match_words(session, state, said)
        case Doubt(doubtful, said) if not session.reader.scripted:
            session.say(said)
            return replace(state, doubt=doubtful)
        case Doubt(doubtful):  # a file of answers cannot be asked back
            return record(session, state, doubtful)
        case Record(fact) if (
            state.unread
            and not isinstance(state.walk.step, steps.ReadPanel)
            and isinstance(fact, READ_FIRST)
            and not stops_on_page(state, fact)
        ):
            session.say(wording.READ_ON)
            return state
        case Record(rest=rest):
            return match_rest(session, record(session, state, reply), rest)


def _answer_beside(session: PromptSession, state: ScreenState, question: SideQuestion, text: str) -> ScreenState:
    """An answer to a question beside the steps; the step, or what is being edited, stays where it is."""
    state, said = question.take(session, state, text)
    danger = danger_named(session, state, text) if question.dangers else None
    if danger is not None:
        return danger
    if said:
        session.say(said)
    return replace(state, due=goes_on(session, state))


def pass_stop(session: PromptSession, state: ScreenState, stop: Stop) -> ScreenState:
    """The stop screen was read: record that; the step it belongs to is to be shown."""
    if state.walk.case.closed is None:
        state, _ = commit(session, state, replace(stop.seen, word=stop.word))
    if stop.word == TOLD:
        state = state.without_told()
    return replace(state, passed=state.passed | {stop.key}, stop=None, due=True)


def stay(session: PromptSession, state: ScreenState, stop: Stop, typed: str) -> ScreenState:
    """What was typed does not pass the stop screen; a driver is told what to do about a danger that it names."""
    first = on_the_road(state.walk.knowledge, typed) if stop.key == DRIVING_KEY else ""
    if not first:
        session.say(stop.hint)
        return state
    why = wording.RACING if first == wording.WILL_NOT_SLOW else wording.SAY_FIRST
    again = driving_stop(session.look, why, first)
    session.show(again.lines)
    return replace(state, stop=again)


def _leave(session: PromptSession, state: ScreenState, code: int | None = None) -> int:
    """Say how to resume the case; the exit code, by default that of an ended or paused walk."""
    command, by = command_for(state.walk.audience), f" --by {shlex.quote(session.by)}"
    saved = wording.SAVED.format(case=state.walk.case.id, command=command, by=by)
    session.say(saved if state.opened else wording.NOT_OPENED)
    ended = isinstance(state.walk.step, steps.Finished)
    return code if code is not None else exit_codes.DONE if ended else exit_codes.PAUSED
