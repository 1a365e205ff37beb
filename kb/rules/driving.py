"""Rules for the words that let a car move: when to stop, what forbids driving, which danger is asked how far.

A caller who is told to drive hears nothing more until the car is at the shop. So the dangers of that drive are asked
about and named first. All of it is judgement (common practice, no source).
"""

import re
from collections.abc import Iterator, Mapping, Sequence

from comeback.kb.rules.words import Broken
from comeback.kb.schema import Check, Complaint, KnowledgeBase, Service
from comeback.kb.vocabulary import Audience, Disposition, Sense

STOP_SIGNS = {
    "a red light": r"\bred (?:\w+ )?(?:light|lamp)",
    "the temperature gauge": r"\btemperature gauge\b",
    "a blinking check-engine light": r"\bcheck-engine (?:light|lamp) (?:\w+ )*?(?:blink|flash)",
    "smoke or a smell of gasoline": r"\bsmoke\b.*\bgasoline\b",
    "the brakes": r"\bbrakes?\b",
}
"""What a driver stops for, and the words that name it."""
BRAKE_SIGNS = {
    "a hard pedal": r"\bhard\b",
    "a soft or low pedal": r"\bsoft\b|\blow\b",
    "the red brake light": r"\b(?:light|lamp)\b",
}
"""Signs that the brakes may fail, and the words that name them in a result."""
NOT_DRIVEN = re.compile(
    r"\bbefore (?:any )?more driving\b|\bbefore (?:you|anyone|anybody) drives?\b"
    r"|\b(?:must|may|can|should) ?not be driven\b|\b(?:do not|don't|never) drive\b",
    re.I,
)
"""Words of `tell` that forbid driving until the repair."""
_BURNING = re.compile(r"\bburn(?:ing|t|ed)\b|\bscorch", re.I)
_FOOT_BRAKE = re.compile(r"(?<!parking )\bbrakes?\b", re.I)
_LEAK = re.compile(r"\b(?:oil|coolant|antifreeze|slimy water)\b", re.I)
_AMOUNT = re.compile(r"\bhow (?:large|big|much)\b", re.I)


def driving_without_stop_signs(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Advice that lets the car move says when to stop."""
    for level, advice in knowledge.dispositions.items():
        missing = _unnamed(STOP_SIGNS, advice.worse)
        if missing and level <= Disposition.COME_IN:
            message = f"The caller may drive and is not told to stop for {', '.join(missing)}. Add it to `worse:`."
            yield ("dispositions", level.word, "worse"), message


def _unnamed(signs: Mapping[str, str], lines: Sequence[str]) -> list[str]:
    """Signs that no line names."""
    return [name for name, words in signs.items() if not any(re.search(words, line, re.I) for line in lines)]


def driven_against_its_words(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """If the customer hears that the car must not be driven, the cause does not let it drive."""
    for cause in knowledge.causes.values():
        found = NOT_DRIVEN.search(cause.tell)
        if found and cause.drive < Disposition.TOW:
            message = f"`tell` says '{found[0]}', but `drive` lets it drive. Write `drive: tow`, or change the words."
            yield ("causes", cause.id, "drive"), message


def danger_sign_without_floor(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Every answer to a danger sign has its mildest advice, or is named harmless."""
    entries: list[Service | Complaint] = [*knowledge.services.values(), *knowledge.complaints.values()]
    listed = {sign for entry in entries for sign in entry.red_flags}
    asked = {sign for check in knowledge.checks.values() for signs in check.follow_up.values() for sign in signs}
    for sign in sorted(listed | asked):
        check = knowledge.checks[sign]
        for result in check.names[1:] if check.red_flag else ():
            if result not in check.red_flag and result not in check.harmless:
                message = f"'{result}' is read out as a danger sign and changes no advice. Add it to `red_flag:`."
                yield ("checks", sign, "results", result), message


def burning_smell_without_floor(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Anything that smells burnt is looked at today, whatever else is found."""
    for check in knowledge.checks.values():
        for result, label in check.results.items() if _by_phone(check) else ():
            smells = check.sense is Sense.SMELL or "smell" in label.lower()
            least = check.red_flag.get(result, Disposition.WATCH)
            if smells and _BURNING.search(label) and least < Disposition.COME_IN:
                message = f"'{label}' is looked at today. Add `red_flag: {{{result}: come-in}}`, or more."
                yield ("checks", check.id, "results", result), message


def brake_question_incomplete(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A danger sign about the foot brake covers all signs that it may fail; no car drives with one."""
    for check in knowledge.checks.values():
        if not (_by_phone(check) and check.red_flag and _FOOT_BRAKE.search(f"{check.name} {check.say}")):
            continue
        forbids = [check.results[result] for result, least in check.red_flag.items() if least >= Disposition.TOW]
        missing = _unnamed(BRAKE_SIGNS, forbids)
        if missing:
            message = f"No result for {', '.join(missing)}. Add it, with `tow` in `red_flag:`."
            yield ("checks", check.id, "results"), message


def leak_without_its_size(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Whether a car that loses oil or coolant may drive depends on how much, so that is asked."""
    for check in knowledge.checks.values():
        for result in check.red_flag if _by_phone(check) and check.sense is Sense.SEE else ():
            further = check.follow_up.get(result, ())
            asked = any(_AMOUNT.search(str(knowledge.checks[sign].say)) for sign in further)
            about = _LEAK.search(check.results[result]) and not _AMOUNT.search(str(check.say))
            if about and not asked:
                message = f"How much of it is not asked. In `follow_up: {result}` name a sign that asks 'How large'."
                yield ("checks", check.id, "red_flag", result), message


def follow_up_that_asks_nothing(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A follow-up of a danger sign is a danger sign that a caller can answer."""
    for check in knowledge.checks.values():
        for result, signs in check.follow_up.items():
            path = ("checks", check.id, "follow_up", result)
            if result not in check.red_flag:
                yield path, f"'{result}' is not a danger sign. Add it to `red_flag:`, or drop the follow-up."
            for sign in signs:
                if not (knowledge.checks[sign].red_flag and _by_phone(knowledge.checks[sign])):
                    yield path, f"'{sign}' is not a danger sign for the phone. Name one with `red_flag:` and `say:`."


def _by_phone(check: Check) -> bool:
    return Audience.PHONE in check.audience
