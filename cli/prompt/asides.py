"""What people type that is no answer to the step: looking around, going back, correcting, naming, handing over."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import chain

from comeback.cli.look import Look, Styled
from comeback.cli.numbers import number_in, percent
from comeback.cli.prompt.ending_replies import override
from comeback.cli.prompt.recording import commit, record, step_again
from comeback.cli.prompt.reply import Record, Remark
from comeback.cli.prompt.resume import say_earlier
from comeback.cli.prompt.session import PromptSession, ScreenState, command_for
from comeback.cli.prompt.side_questions import feet, hint
from comeback.cli.records.formats import rendered
from comeback.cli.screens import wording
from comeback.cli.screens.cautions import cautions
from comeback.cli.screens.earlier_answers import answer_before, earlier_answers, open_answers
from comeback.cli.screens.event_text import answer_text, codes_typed, event_text, findings
from comeback.cli.screens.heading import shortened
from comeback.cli.screens.pages import CONTINUED, numbered
from comeback.cli.screens.screens import step_cautions
from comeback.cli.screens.spoken import standing_signs
from comeback.cli.screens.summary import so_far_lines
from comeback.cli.screens.why import why
from comeback.cli.words import spelling
from comeback.cli.words.search import KINDS, search
from comeback.engine.case import facts
from comeback.engine.case.events import Kind
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

MOST_FOUND = 8
ROOM = 19
"""Lines of a page above its foot."""


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
    said = f"Taken back: {event_text(walk.knowledge, last)}"
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
        return f"There is no answer {shortened(text, 12)}. r lists them with their numbers."
    item = found[number - 1]
    return state.with_step(step_again(state.walk, item), item)


def open_items(session: PromptSession, state: ScreenState, text: str) -> ScreenState | str:
    """List what was answered "don't know", or go to one of them; the walk goes on afterwards where it was."""
    found = open_answers(state.walk)
    if not found:
        return 'Nothing is open: no answer was "don\'t know".'
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
        session.say(f"Given to {text}. It is on their list: comeback {command} {case} --by {text}")
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
        state, _ = commit(session, state, facts.Registered(alike), f"License plate {alike} confirmed.")
        say_earlier(session, state.walk, alike)
        return state
    before = case.unconfirmed[-1:] or ((case.registration,) if case.registration else ())
    echo = f"Read back: {spelling.spelt(text)}. To confirm, type it a second time: plate {typed}"
    if before and not spelling.same(before[0], typed):
        echo = f"That differs from {before[0]}. Both are kept, not confirmed. Ask again: plate ..."
    return commit(session, state, facts.Registered(typed, read_back=False), echo)[0]


def tell(_session: PromptSession, state: ScreenState, _text: str) -> ScreenState:
    """The advice read out once more after the call has ended."""
    return replace(state.without_told(), walk=state.walk.with_step(state.walk.advice()), due=True)


def change_urgency(session: PromptSession, state: ScreenState, text: str) -> ScreenState | str:
    """Set another disposition, then show the advice again."""
    if state.walk.audience is not Audience.PHONE:
        return "Only on the phone: in the bay you have the car. Write a note, or hand the car over."
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


def show_why(session: PromptSession, state: ScreenState, _text: str) -> ScreenState:
    """Why this is asked, and what the hazards are that its screen may tell by their commands alone."""
    walk, look = state.walk, session.look
    session.show([*why(walk, look), *cautions(walk, step_cautions(walk), look)])
    return state


def show_so_far(session: PromptSession, state: ScreenState, _text: str) -> ScreenState:
    """What is known so far: leading causes, ruled out, not checked."""
    session.show(so_far_lines(state.walk, session.look))
    return state


def review(session: PromptSession, state: ScreenState, _text: str) -> ScreenState:
    """All answers with the numbers by which they can be edited, then the whole record's other parts."""
    return show_listing(session, state, review_lines(state.walk, session.look))


def review_lines(walk: Walk, look: Look) -> list[Styled]:
    """The numbered answers, folded as in the record, then repairs and notes; what is not clean has its own line."""
    items = list(enumerate(earlier_answers(walk), 1))
    numbers = {(item.event.number, item.check): number for number, item in items}
    heads: dict[int, str] = {}
    clean: set[int] = set()
    listed = [answer for answer in walk.case.answers if (answer.number, answer.check) in numbers]
    for answers, text in findings(walk.knowledge, listed, codes_typed(walk.events)):
        if len(answers) > 1:
            places = [numbers[answer.number, answer.check] for answer in answers]
            whole = places[-1] - places[0] == len(places) - 1
            span = f"{places[0]} to {places[-1]}" if whole else ", ".join(map(str, places))
            heads[places[0]] = f"{span}  {text}"
            checks = zip(places, answers, strict=True)
            clean |= {place for place, a in checks if a.result == walk.knowledge.checks[a.check].expected}
    told: list[tuple[str, str]] = []
    for number, item in items:
        who = f"({item.event.by}, {item.event.at[11:16]})"
        told += [("", f"{heads[number]} {who}")] if number in heads else []
        told += [] if number in clean else [(f"  {number:3d}  ", f"{item.asked}: {item.said} {who}")]
    repairs = walk.knowledge.repairs
    told += [("", f"repaired: {repairs[r.repair].name} ({r.by}, {r.at[11:16]})") for r in walk.case.repairs]
    told += [("", f"note: {text} ({by}, {at[11:16]})") for at, by, text in walk.case.notes]
    lines: list[Styled] = [("title", "Answers so far.  edit 3  changes no. 3; the others are kept.")]
    lines += chain.from_iterable(look.styled("plain", text, 7, first) for first, text in told)
    changed = sum(1 for event in walk.events if event.kind == Kind.TAKEN_BACK)
    return [*lines, ("faint", f"Changed or taken back: {changed}. The old answers stay in the record.")]


def find(session: PromptSession, state: ScreenState, text: str) -> ScreenState | str:
    """Search complaints, causes and checks, forgiving of spelling; with what is known of each in this walk."""
    walk, look = state.walk, session.look
    found = search(walk.knowledge, text)[:MOST_FOUND]
    lines: list[Styled] = [("title", f"Found for '{text[:40]}'")]
    for kind, name in found:
        told = f"{getattr(walk.knowledge, KINDS[kind])[name].name} [{name}]"
        if kind == "check" and (answer := walk.case.answer(name)) is not None:
            told += f" - answered: {answer_text(walk.knowledge, name, answer.result, answer.reading)}"
        elif kind == "cause" and walk.case.complaint is not None and name in walk.view.network.causes:
            told += f" - {percent(walk.view.belief.probability(name))} now"
        lines += look.styled("plain", told, 13, f"  {kind}")
    session.show(lines if found else [])
    return state if found else f"Nothing found for '{text[:40]}'."


def print_record(session: PromptSession, state: ScreenState, _text: str) -> ScreenState | str:
    """The whole record on the screen."""
    walk = state.walk
    if not state.opened:
        return wording.NOT_OPENED
    text = rendered(walk.knowledge, walk.events, "text")
    state = show_listing(session, state, [("plain", line) for line in text.splitlines()])
    session.say(f"To keep it: comeback record {walk.case.id} --format html -o {walk.case.id}.html")
    return state


def show_listing(session: PromptSession, state: ScreenState, lines: Sequence[Styled]) -> ScreenState:
    """Show a list above the keys of the step; at a terminal in pages, cut where an item begins if one does."""
    found: list[list[Styled]] = []
    while len(lines) > ROOM and session.reader.interactive:
        begins = [i for i in range(2, ROOM + 1) if not lines[i][1].startswith(" " * CONTINUED)]
        cut = begins[-1] if begins else ROOM
        found.append(list(lines[:cut]))
        lines = lines[cut:]
    found.append(list(lines))
    found = numbered(found) if len(found) > 1 else found
    return more(session, replace(state, rest=tuple(map(tuple, found))), "")


def more(session: PromptSession, state: ScreenState, _text: str) -> ScreenState:
    """The next page of the list that is being read, else of the step."""
    if not state.rest:
        return replace(state, page=state.page + 1, due=True)
    session.show([*state.rest[0], *feet(session, state)])
    return replace(state, rest=state.rest[1:])
