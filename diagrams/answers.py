"""What an exit of a box says: the answer or answers that lead there, and which one leads straight down."""

from comeback.diagrams import phrases
from comeback.engine import steps
from comeback.engine.decision_graph import DONE, NONE_OF_THESE, Box, Exit
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.vocabulary import FEATURE_VALUES, Audience

SHORT = 12
"""Most words of an answer in the chart; the text twin always has them all."""


def labels(knowledge: KnowledgeBase, audience: Audience, box: Box, way: Exit) -> list[str]:
    """Each answer of the exit in words, in order."""
    return [label(knowledge, audience, box.step, answer) for answer in way.answers]


def label(knowledge: KnowledgeBase, audience: Audience, step: steps.Step, answer: str) -> str:
    """One answer in words."""
    match step:
        case steps.DangerScreen() if ":" in answer:
            check_name, _, result = answer.partition(":")
            return _danger_sign(knowledge.checks[check_name], result, audience)
        case steps.MakeCheck(check=name) | steps.ProveRepair(check=name):
            return knowledge.checks[name].results[answer]
        case steps.ReadPanel() if ":" in answer:
            check_name, _, result = answer.partition(":")
            check = knowledge.checks[check_name]
            return f"{check.name}: {check.results[result]}"
        case steps.ChooseCondition() if answer in FEATURE_VALUES:
            return FEATURE_VALUES[answer]
        case _:
            return phrases.ANSWERS[answer]


def _danger_sign(check: Check, result: str, audience: Audience) -> str:
    """A danger sign with the result that the exit stands for."""
    seen = check.results[result]
    if audience is Audience.PHONE:
        return f'"{check.say}" {seen}'
    said = set(check.name.lower().split()) >= set(seen.lower().split())
    return check.name if said else f"{check.name}: {seen}"


def short_label(knowledge: KnowledgeBase, audience: Audience, box: Box, way: Exit) -> str:
    """The exit's answers for the chart; the largest group is "any other answer" if it is long."""
    if len(box.exits) == 1 and len(way.answers) > 1:
        return phrases.ANY
    text = " / ".join(labels(knowledge, audience, box, way))
    largest = max(box.exits, key=lambda other: len(other.answers))
    if len(text.split()) > SHORT and way is largest and len(way.answers) > 1:
        return phrases.ANY_OTHER
    return text


def downward(knowledge: KnowledgeBase, box: Box) -> Exit | None:
    """The exit that holds the expected answer; it leaves at the bottom of the box, all others to the right."""
    match box.step:
        case steps.MakeCheck(check=check):
            wanted = knowledge.checks[check].expected
        case steps.ProveRepair(result=result):
            wanted = result
        case steps.DangerScreen() | steps.ReadPanel():
            wanted = NONE_OF_THESE
        case steps.DoRepair():
            wanted = DONE
        case _:
            return box.exits[0] if box.exits else None
    return next((way for way in box.exits if wanted in way.answers), None)
