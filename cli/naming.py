"""What is wrong, named in somebody's own words: complaints that they may mean, dangers that they name."""

from typing import TYPE_CHECKING

from comeback.cli import corrections, screens, wording
from comeback.cli.search import find_complaints, named_signs, open_complaint
from comeback.cli.search_services import tells_of_work
from comeback.engine import steps
from comeback.engine.policy import fitting_complaints

if TYPE_CHECKING:
    from comeback.cli.conversation import Conversation

MOST_MATCHES = 9


def match_words(talk: "Conversation", text: str) -> None:
    """List the complaints that the customer's words may mean."""
    knowledge = talk.walk.knowledge
    if not isinstance(talk.walk.step, steps.ChooseComplaint):  # a danger was named before the service is known
        talk.walk = talk.walk.at(steps.ChooseComplaint(fitting_complaints(knowledge, talk.walk.case)))
    assert isinstance(talk.walk.step, steps.ChooseComplaint)
    talk.words = corrections.joined_words(talk.words, text)
    found = find_complaints(knowledge, text, talk.walk.step.complaints)
    other = open_complaint(knowledge, talk.walk.step.complaints)
    ranked = found.near if found.near or other else found.complaints
    last = [other] if other else []
    talk.found = [name for name in ranked if name != other][: MOST_MATCHES - len(last)] + last
    question = [] if found.near else [wording.NO_MATCH.format(text=text[:40])]
    talk.show(screens.matches(talk.walk, talk.found, talk.look, *question))
    talk.show([("faint", wording.MATCH_HINT)])


def danger_named(talk: "Conversation", text: str) -> bool:
    """Words of danger instead of an answer: ask about that danger before anything else. True if it was one."""
    knowledge, signs = talk.walk.knowledge, named_signs(talk.walk.knowledge, text)
    step = talk.walk.step
    if not signs or isinstance(step, steps.Finished) or (isinstance(step, steps.ChooseService) and tells_of_work(text)):
        return False
    if talk.walk.case.complaint is None:
        match_words(talk, text)
        return True
    here = talk.walk.step.checks if isinstance(talk.walk.step, steps.DangerScreen) else ()
    if signs[0] in here:
        talk.say(wording.DANGER_HERE.format(number=here.index(signs[0]) + 1))
        return True
    known = talk.walk.situation.results
    asked = tuple(
        sign
        for sign in signs
        if talk.walk.audience in knowledge.checks[sign].audience  # and a sign that stands is not asked away
        and known.get(sign) not in knowledge.checks[sign].red_flag
    )
    if asked:
        talk.go_to(steps.DangerScreen(asked[:6]), None)
    return bool(asked)
