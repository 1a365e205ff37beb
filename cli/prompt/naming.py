"""What is wrong, named in somebody's own words: complaints that they may mean, dangers that they name."""

from typing import TYPE_CHECKING

from comeback.cli.prompt import corrections
from comeback.cli.screens import screens, wording
from comeback.cli.words.search import find_complaints, named_signs, open_complaint
from comeback.engine.walk import steps
from comeback.engine.walk.policy import fitting_complaints

if TYPE_CHECKING:
    from comeback.cli.prompt.conversation import Conversation

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


def remark(talk: "Conversation", text: str, said: str) -> None:
    """Say what is wrong with an answer, unless its words name a danger: then ask about that.

    Whether words name a danger or the work that was done is judged with the services.
    """
    judged = talk.editing is not None or isinstance(talk.walk.step, steps.ChooseService)
    if judged or not danger_named(talk, text):
        talk.say(said)


def danger_named(talk: "Conversation", text: str) -> bool:
    """Words of danger instead of an answer: ask about that danger before anything else. True if it was one."""
    knowledge, signs = talk.walk.knowledge, named_signs(talk.walk.knowledge, text)
    if not signs or isinstance(talk.walk.step, steps.Finished):
        return False
    if talk.walk.case.complaint is None:
        match_words(talk, text)
        return True
    here = talk.walk.step.checks if isinstance(talk.walk.step, steps.DangerScreen) else ()
    if signs[0] in here:
        talk.say(wording.DANGER_HERE.format(number=here.index(signs[0]) + 1))
        return True
    new = (sign for sign in signs if sign not in talk.walk.situation.raised)  # what stands is not asked away
    asked = tuple(sign for sign in new if talk.walk.audience in knowledge.checks[sign].audience)
    if asked:
        talk.go_to(steps.DangerScreen(asked[:6]), None)
    return bool(asked)
