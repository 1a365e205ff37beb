"""Rules for what a caller may do alone: it settles something, it hurts nobody, and it says when to call again.

A caller stays out from under the hood and off fuel lines, brakes, belts and coolant. All of it is judgement
(common practice, no source).
"""

import re
from collections.abc import Iterator

from comeback.kb.rules.words import Broken
from comeback.kb.schema import Check, KnowledgeBase, Remedy
from comeback.kb.vocabulary import Audience, Disposition

DANGEROUS = re.compile(
    r"\b(?:open|lift|raise|look under) (?:the |your )?hood|\bjack\b|\bdrive (?:it |the car )?(?:to|here)\b"
    r"|\b(?:fuel|gas) (?:lines?|hoses?|filters?|pumps?)\b|\bbrake (?:fluid|pads?|hoses?|lines?)\b|\bbelts?\b"
    r"|\bradiator\b|\bcoolant (?:caps?|hoses?|tanks?)\b|\bbattery (?:clamps?|posts?|cables?|terminals?)\b|\bjump",
    re.I,
)
"""Words of an act that is not for a caller."""
_CALL = re.compile(r"\bcall\b", re.I)


def remedy_that_settles_nothing(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Its result is abnormal, a caller is asked for it, and a cause that its repair removes shows in it."""
    for check, remedy in _remedies(knowledge):
        path = ("checks", check.id, "remedy", "result")
        if Audience.PHONE not in check.audience:
            yield path, f"No caller is asked for '{check.id}'. Add phone to its `audience:`."
        if remedy.result == check.expected:
            yield path, "This is the first result, with which nothing was wrong. Name one that shows it helped."
        if not any(check.id in knowledge.causes[cause].shows for cause in knowledge.repairs[remedy.repair].removes):
            yield path, f"No cause that '{remedy.repair}' removes shows in '{check.id}', so this settles nothing."


def remedy_with_danger(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Nothing is done under the hood, nor with a danger sign that it does not cure; no cause of it forbids driving."""
    for check, remedy in _remedies(knowledge):
        removes = knowledge.repairs[remedy.repair].removes
        shown = [knowledge.causes[cause] for cause in removes if check.id in knowledge.causes[cause].shows]
        for field, texts in (("do", (remedy.do,)), ("then", remedy.then)):
            found = next((hit for text in texts if (hit := DANGEROUS.search(text))), None)
            if found:
                yield ("checks", check.id, "remedy", field), f"'{found[0]}' is not for a caller. Leave it to the shop."
        if remedy.result in check.red_flag:
            yield ("checks", check.id, "remedy", "result"), "This result is a danger sign: the shop looks at it."
        for sign in remedy.despite:
            if not any(sign in cause.shows for cause in shown):
                message = f"Nothing that it settles shows in '{sign}'. Drop it, or the danger goes on."
                yield ("checks", check.id, "remedy", "despite"), message
        for cause in shown:
            if cause.drive >= Disposition.TOW:
                message = f"With '{cause.id}' the car must not be driven; nobody settles that by phone."
                yield ("checks", check.id, "remedy", "repair"), message


def remedy_without_end(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A caller who is told that all is well is also told when to call again."""
    for check, remedy in _remedies(knowledge):
        if not _CALL.search(remedy.again):
            yield ("checks", check.id, "remedy", "again"), "Say when to call again: 'Call us if ...'."


def _remedies(knowledge: KnowledgeBase) -> Iterator[tuple[Check, Remedy]]:
    yield from ((check, check.remedy) for check in knowledge.checks.values() if check.remedy is not None)
