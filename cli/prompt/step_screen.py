"""What is on the screen: a question beside the step, the stop screen before it, or the step with pages and keys."""

from dataclasses import replace
from itertools import chain

from comeback.cli.look import Look, Styled
from comeback.cli.prompt.resume import show_offers
from comeback.cli.prompt.session import PromptSession, ScreenState
from comeback.cli.prompt.side_questions import feet, lines, side_question
from comeback.cli.screens import endings, heading, screens, stop_screens, wording
from comeback.cli.screens.earlier_answers import answer_before
from comeback.cli.screens.event_text import event_text
from comeback.cli.screens.heading import shortened
from comeback.cli.screens.pages import pages
from comeback.engine.case.facts import Answered, Fact
from comeback.engine.readout.findings.evidence import has_evidence
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience, Level

SCREEN_LINES = 23  # of 24: the last is for the answer


def show_screen(session: PromptSession, state: ScreenState) -> ScreenState:
    """Show what is due; returns what is on the screen then."""
    walk = as_specialist(state.walk) if session.level is Level.SPECIALIST else state.walk
    again = state.reopened and isinstance(walk.step, steps.Finished)
    state = replace(state, walk=walk, reopened=again, due=False, stop=None, unread=False)
    asking = walk.events and not session.quiet and walk.step_override is None
    head = [*heading.head(walk, session.look, heading.progress(walk) if asking else ""), *session.take_noted()]
    question = side_question(session, state)
    if question is not None:
        session.show([*head, *lines(session, state, question)])
        session.show(feet(session, state))
        show_offers(session, state)
        return state
    stop = stop_screens.stop_before(walk, session.look, state.passed) if session.reader.interactive else None
    if stop is not None and stop.key not in state.passed:
        session.show([*head, *stop.lines])
        return replace(state, stop=stop)
    return _show_step(session, state, head, warned=stop is not None)


def _show_step(session: PromptSession, state: ScreenState, head: list[Styled], warned: bool) -> ScreenState:
    """The step itself. `warned`: its stop screen was passed already, so that it is shorter."""
    walk, look = state.walk, session.look
    if isinstance(walk.step, steps.Finished) and not state.reopened:
        session.show([*head, ("title", endings.ended(walk, walk.step.how))])
        return state
    end = earlier_line(state, look)
    if state.reminded_at in (None, walk.step) and light_on(walk):  # at the first such step, on each of its pages
        state = replace(state, reminded_at=walk.step)
        told = (look.styled("say", text.format(case=walk.case.id)) for text in wording.SAVE_CODES)
        end = [*chain(*told), *end]
    room = SCREEN_LINES - len(head) - len(end) - len(feet(session, state))
    body = screens.body(walk, look, warned, room)
    if session.reader.interactive:
        parts = pages(walk, body, look, room)
        body = parts[state.page % len(parts)]
        read = state.read | set(body)
        state = replace(state, read=read, unread=not read.issuperset(line for part in parts for line in part))
    session.show([*head, *body])
    session.show([*end, *feet(session, state)])
    show_offers(session, state)
    return state


def stops_on_page(state: ScreenState, fact: Fact) -> bool:
    """True if the answer stops a round of looks at a row that was on the screen: those after it are not made."""
    step = state.walk.step
    if not isinstance(step, steps.LookRound) or not isinstance(fact, Answered) or {*fact.results} == {*step.checks}:
        return False
    row = f"   {len(fact.results)}   "
    return any(text.startswith(row) for _, text in state.read)


def as_specialist(walk: Walk) -> Walk:
    """A specialist at the keyboard does the repairs that others hand over."""
    step = walk.step
    if not isinstance(step, steps.HandOver) or not step.repair:
        return walk
    entry, causes = walk.knowledge.repairs[step.repair], walk.view.network.causes
    belief = walk.view.belief
    cures = max((p * belief.probability(c) for c, p in entry.removes.items() if c in causes), default=0.0)
    return walk.with_step(steps.DoRepair(step.repair, entry.minutes, cures, entry.minutes, ()))


def light_on(walk: Walk) -> bool:
    """In the bay, at a step with room for a line: the check-engine light is on, and its codes are not known yet."""
    if walk.audience is not Audience.BAY or walk.case.complaint is None or walk.case.id in ("", "-"):
        return False
    told = steps.DangerScreen | steps.ReadPanel | steps.Finished  # a panel's own caution says how codes are saved
    if isinstance(walk.step, told) or has_evidence(walk.events):
        return False
    checks = walk.knowledge.checks
    if any(checks[answer.check].panel for answer in walk.case.answers if answer.check in checks):
        return False
    return walk.knowledge.lit(walk.view.results)


def earlier_line(state: ScreenState, look: Look) -> list[Styled]:
    """The answer that is being edited, or the one given before going back; the key that keeps it stays whole."""
    earlier = answer_before(state.walk) if state.editing is None else None
    if state.editing is not None:
        said, (before, key) = state.editing.said, wording.EDITING
    elif earlier is not None:
        said, (before, key) = event_text(state.walk.knowledge, earlier), wording.EARLIER
    else:
        return []
    room = look.width - 1 - len(before.format(said="")) - len(key)
    return [("faint", before.format(said=shortened(said, max(8, room))) + key)]
