"""What people type to look around: nothing here is recorded, and the step stays where it is."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import chain

from comeback.cli.look import Look, Styled
from comeback.cli.numbers import percent
from comeback.cli.prompt.session import PromptSession, ScreenState
from comeback.cli.prompt.side_questions import feet
from comeback.cli.screens import wording
from comeback.cli.screens.cautions import cautions
from comeback.cli.screens.earlier_answers import earlier_answers
from comeback.cli.screens.event_text import answer_text, codes_typed, findings
from comeback.cli.screens.pages import CONTINUED, numbered
from comeback.cli.screens.screens import step_cautions
from comeback.engine.case.events import Kind
from comeback.engine.walk.walk import Walk

MOST_FOUND = 8
ROOM = 19
"""Lines of a page above its foot."""


def show_why(session: PromptSession, state: ScreenState, _text: str) -> ScreenState:
    """Why this is asked, and what the hazards are that its screen may tell by their commands alone."""
    from comeback.cli.screens.why import why

    walk, look = state.walk, session.look
    session.show([*why(walk, look), *cautions(walk, step_cautions(walk), look)])
    return state


def show_so_far(session: PromptSession, state: ScreenState, _text: str) -> ScreenState:
    """What is known so far: leading causes, ruled out, not checked."""
    from comeback.cli.screens.summary import so_far_lines

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
    from comeback.cli.words.search import KINDS, search

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
    return state if found else wording.FOUND_NOTHING.format(text=text[:40])


def print_record(session: PromptSession, state: ScreenState, _text: str) -> ScreenState | str:
    """The whole record on the screen."""
    walk = state.walk
    if not state.opened:
        return wording.NOT_OPENED
    from comeback.cli.records.formats import rendered

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
