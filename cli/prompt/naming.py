"""What is wrong, named in somebody's own words: complaints that they may mean, dangers that they name."""

from dataclasses import replace

from comeback.cli.prompt import corrections
from comeback.cli.prompt.screen_state import ScreenState
from comeback.cli.prompt.session import PromptSession
from comeback.cli.screens import screens, wording
from comeback.cli.words.search import find_complaints, named_signs, open_complaint
from comeback.engine.walk import steps
from comeback.engine.walk.policy import fitting_complaints

MOST_MATCHES = 9


def match_words(session: PromptSession, state: ScreenState, text: str) -> ScreenState:
    """List the complaints that the customer's words may mean."""
    walk, knowledge = state.walk, state.walk.knowledge
    if not isinstance(walk.step, steps.ChooseComplaint):  # a danger was named before the service is known
        walk = walk.with_step(steps.ChooseComplaint(fitting_complaints(knowledge, walk.case)))
    assert isinstance(walk.step, steps.ChooseComplaint)
    found = find_complaints(knowledge, text, walk.step.complaints)
    other = open_complaint(knowledge, walk.step.complaints)
    ranked = found.near if found.near or other else found.complaints
    last = [other] if other else []
    listed = (*[name for name in ranked if name != other][: MOST_MATCHES - len(last)], *last)
    question = [] if found.near else [wording.NO_MATCH.format(text=text[:40])]
    session.show(screens.matches(walk, listed, session.look, *question))
    session.show([("faint", wording.MATCH_HINT)])
    return replace(state, walk=walk, words=corrections.joined_words(state.words, text), found=listed)


def remark(session: PromptSession, state: ScreenState, text: str, said: str) -> ScreenState:
    """Say what is wrong with an answer, unless its words name a danger: then ask about that.

    Whether words name a danger or the work that was done is judged with the services.
    """
    judged = state.editing is not None or isinstance(state.walk.step, steps.ChooseService)
    danger = None if judged else danger_named(session, state, text)
    if danger is None:
        session.say(said)
    return danger or state


def danger_named(session: PromptSession, state: ScreenState, text: str) -> ScreenState | None:
    """Words of danger instead of an answer: ask about that danger before anything else. None if they name none."""
    walk, knowledge = state.walk, state.walk.knowledge
    signs = named_signs(knowledge, text)
    if not signs or isinstance(walk.step, steps.Finished):
        return None
    if walk.case.complaint is None:
        return match_words(session, state, text)
    here = walk.step.checks if isinstance(walk.step, steps.DangerScreen) else ()
    if signs[0] in here:
        session.say(wording.DANGER_HERE.format(number=here.index(signs[0]) + 1))
        return state
    new = (sign for sign in signs if sign not in walk.view.raised)  # what stands is not asked away
    asked = tuple(sign for sign in new if walk.audience in knowledge.checks[sign].audience)
    return state.with_step(steps.DangerScreen(asked[:6])) if asked else None
