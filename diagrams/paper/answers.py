"""What an exit of a box says: the answer or answers that lead there, and which one leads straight down."""

from collections.abc import Sequence

from comeback.diagrams.paper import phrases
from comeback.engine.charts.decision_graph import DONE, NONE_OF_THESE, Box, Exit
from comeback.engine.charts.growth import PaperStep
from comeback.engine.walk import steps
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.vocabulary import FEATURE_VALUES, Audience

SHORT = 18
"""Most words of an answer in the chart; the text twin always has them all."""

CODES = 2
"""Most trouble codes that stand beside an answer."""
MANY = 7
"""Answers of a panel that stand in a line each; more run on, or the page would not hold them."""


def labels(knowledge: KnowledgeBase, audience: Audience, box: Box, way: Exit) -> list[str]:
    """Each answer of the exit in words, in order."""
    return [label(knowledge, audience, box.step, answer) for answer in way.answers]


def label(knowledge: KnowledgeBase, audience: Audience, step: PaperStep, answer: str) -> str:
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
            return f"{check.name}: {check.results[result]}{_codes(check, (result,))}"
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
    """The exit's answers for the chart, a line for each of a screen; the longest is "any other answer" if it is long.

    Danger signs are never left to be guessed.
    """
    if isinstance(box.step, steps.DangerScreen):
        return "\n".join(labels(knowledge, audience, box, way))
    if len(box.exits) == 1 and len(way.answers) > 1:
        return phrases.ANY
    text = _listed(knowledge, audience, box, way)
    if len(text.split()) <= SHORT or len(way.answers) == 1:
        return text
    if way is not max(box.exits, key=lambda other: len(_listed(knowledge, audience, box, other))):
        return text
    return phrases.NONE_OR_OTHER if NONE_OF_THESE in way.answers else phrases.ANY_OTHER


def _listed(knowledge: KnowledgeBase, audience: Audience, box: Box, way: Exit) -> str:
    """The exit's answers in words: those of a panel in lines, others side by side."""
    if isinstance(box.step, steps.ReadPanel):
        families = _families(knowledge, audience, box, way)
        return ("\n" if len(families) <= MANY else "; ").join(families)
    return " / ".join(labels(knowledge, audience, box, way))


def _families(knowledge: KnowledgeBase, audience: Audience, box: Box, way: Exit) -> list[str]:
    """Answers of a panel; a check all of whose abnormal results lead here is named once."""
    out: dict[str, None] = {}
    for answer in way.answers:
        check, _, _ = answer.partition(":")
        if ":" in answer and {f"{check}:{result}" for result in knowledge.checks[check].names[1:]} <= set(way.answers):
            entry = knowledge.checks[check]
            out[f"{entry.name}{_codes(entry, entry.names[1:])}"] = None
        else:
            out[label(knowledge, audience, box.step, answer)] = None
    return list(out)


def _codes(check: Check, results: Sequence[str]) -> str:
    """The trouble codes that mean these results, as many as a row has room for."""
    codes = [code for result in results for code in check.codes.get(result, ())]
    more = phrases.AND_MORE if len(codes) > CODES else ""
    return f" ({', '.join(codes[:CODES])}{more})" if codes else ""


def _with_signs(way: Exit) -> bool:
    """True if signs lead where none of them does, as on a call that ends in a tow whatever else is seen."""
    return NONE_OF_THESE in way.answers and len(way.answers) > 1


def downward(knowledge: KnowledgeBase, box: Box) -> Exit | None:
    """The exit that holds the expected answer; it leaves at the bottom of the box, all others to the right."""
    match box.step:
        case steps.MakeCheck(check=check):
            wanted = knowledge.checks[check].expected
        case steps.ProveRepair(result=result):
            wanted = result
        case steps.DangerScreen() if any(_with_signs(way) for way in box.exits):
            return None  # the signs are many lines: beside the box there is room for them
        case steps.DangerScreen() | steps.ReadPanel():
            wanted = NONE_OF_THESE
        case steps.DoRepair():
            wanted = DONE
        case _:
            return box.exits[0] if box.exits else None
    return next((way for way in box.exits if wanted in way.answers), None)
