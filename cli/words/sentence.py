"""A sentence taken apart: what tells of the work done, what only says when or where, and what the car does."""

import re
from collections.abc import Sequence

from comeback.cli.words.passed import parts_said
from comeback.cli.words.search import Found, complaint_index, find_complaints
from comeback.cli.words.search_services import Services, find_services, left_unsaid, names_work
from comeback.cli.words.speech import LIGHT, ideas, raw_words
from comeback.engine.case.case import WORDS_APART
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Sense

TROUBLE = 0.5
"""What fits a complaint this well tells of trouble ("the battery is dead"), not of the service; judged."""
NO_PART = frozenset({"start", "crank", "clean", "not"})
"""Ideas that name no service alone: "it won't start" is no starter, "you cleaned that sensor" no engine cleaning."""
BLINKS = ideas(["blinks"])
WHOLE = 0.85
"""From so good a fit on the whole phrase was said, as "the check engine light came on"; judged."""
PART = 0.6
"""A part of a sentence that fits less than so much of what the best part does tells nothing."""
CIRCUMSTANCES = frozenset(
    """accelerate cold drive evening fin foot hood idle morn night pullaway road run second slowdown spe standing start
    stop stops takeoff town turn under uphill warmup wheel""".split()  # noqa: SIM905
)
"""Ideas that say when or where and nothing of what is wrong: "when I step on it", "runs fine around town"."""

_WE = r"(?:you guys|you all|y'?all|you|they|the shop|i|we)"
_REST = (
    r"(?=,| (?:it|it's|its|it'll|there|there's|theres|now|i|i'm|im|all i|"
    r"(?:my|the) (?:car|truck|van|engine|motor|check|lights?|brakes?|heater|temp\w*|gas mileage|idle|radio))\b|$)"
)
"""Where the next clause begins."""
_WORK = re.compile(
    rf"\b(?:ever since|right after|just after|since|after|before)\b(?: {_WE}\b)?.*?{_REST}"
    rf"|^(?:(?:so|well|hi|hello|yeah|ok|okay|because|cause) )*{_WE}\b.*?{_REST}"
    rf"|^(?:it(?:'s| has| is)? )?(?:a |the |my |got a )*(?:brand )?new\b.*?{_REST}",
    re.IGNORECASE,
)
"""Clauses that may tell of the work: "since the oil change", "you just put a battery in", "brand new belt"."""

_NOT_NOW = re.compile(r"\b(?:not?|never|was|were|had|off|out|before|used to|no longer)\b|n'?t\b", re.IGNORECASE)
"""Words with which a light may not be on now."""


def work_said(knowledge: KnowledgeBase, text: str, asked: bool = False) -> Services:
    """The services that a sentence names as done, in clauses that say nothing else; none if it names none for sure.

    `asked`: it answers the question what was done, so that "oil" alone is the oil change.
    """
    clauses = [clause for part in parts_said(text) for clause in _work_clauses(knowledge, part, asked)]
    found = find_services(knowledge, " and ".join(clauses), tuple(knowledge.services)) if clauses else Services()
    return found if found.sure else Services()


def trouble_said(knowledge: KnowledgeBase, text: str) -> str:
    """What an answer to the question what was done says of the car beside it; empty if that fits no complaint well."""
    rest = without_work(knowledge, parts_said(text), asked=True)
    rest = [part for part in rest if left_unsaid(part, frozenset()) and not names_work(part)]
    heard = ((find_complaints(knowledge, part, knowledge.complaints), len(part.split())) for part in rest)
    # one or two words may be one more thing that was renewed, as "wires"
    told = any(found.score >= (TROUBLE if words > 2 else WHOLE) for found, words in heard)
    return ", ".join(rest) if told else ""


def without_work(knowledge: KnowledgeBase, parts: Sequence[str], asked: bool = False) -> list[str]:
    """The parts of a sentence without their clauses that only tell of the work."""
    out = []
    for part in parts:
        for clause in _work_clauses(knowledge, part, asked):
            part = part.replace(clause, " ")
        out.append(part.strip(" ,"))
    return [part for part in out if part]


def find_parts(knowledge: KnowledgeBase, parts: Sequence[str], among: Sequence[str]) -> Found:
    """The complaints that the parts of a sentence may mean: what the best of them mean first, dangers ahead.

    What tells of the work names no complaint but may name a danger: "it smells since you changed the fuel filter".
    """
    whole = find_complaints(knowledge, " ".join(parts), among)
    of_car = _joined(without_work(knowledge, parts)) or [*parts]
    heard = [find_complaints(knowledge, part, among) for part in of_car]
    best = max((one.score for one in heard), default=0.0)
    by_fit = sorted((one for one in heard if one.score >= PART * best), key=lambda one: -one.score)
    firsts = [name for one in by_fit for name in one.near[:1]]
    together = find_complaints(knowledge, " ".join(of_car), among)
    near = tuple(dict.fromkeys((*whole.near[: bool(whole.danger)], *firsts, *together.near, *whole.near)))
    return Found(tuple(dict.fromkeys((*near, *whole.complaints))), near, whole.danger, whole.score, whole.phrase)


def lights_named(knowledge: KnowledgeBase, text: str) -> dict[str, str]:
    """Check -> result of the lights on the dash that a part of `text` names, and says little else."""
    out, before = dict[str, str](), ""
    for part in (part for words in text.split(WORDS_APART) for part in parts_said(words)):
        if ideas(raw_words(part)) == BLINKS:  # "the engine light is on, it's flashing"
            part = f"{before} {part}"
        before = part
        found = find_complaints(knowledge, part, knowledge.complaints)
        named = "lamp" in ideas(raw_words(part)) and not _NOT_NOW.search(part)
        sure = named and found.near and found.score >= WHOLE
        stated = knowledge.complaints[found.near[0]].reports if sure else {}
        if all(knowledge.checks[check].sense is Sense.LAMP for check in stated):
            out |= stated
    return out


def _work_clauses(knowledge: KnowledgeBase, part: str, asked: bool = False) -> list[str]:
    """The clauses of a part that name a service and say nothing else of the car, as "since the oil change"."""
    if (asked or names_work(part)) and _only_work(knowledge, part):
        return [part]
    return [found[0] for found in _WORK.finditer(part) if _only_work(knowledge, found[0])]


def _only_work(knowledge: KnowledgeBase, clause: str) -> bool:
    found = find_services(knowledge, clause, tuple(knowledge.services))
    if found.sure and not found.said:  # by its id
        return True
    if not found.exact or found.said <= NO_PART:
        return False
    said = complaint_index(knowledge).weights
    return not any(idea in said and idea not in LIGHT for idea in left_unsaid(clause, found.said))


def _joined(parts: Sequence[str]) -> list[str]:
    """The parts; those that only say when or where joined with the next one, or at the end with the one before.

    A single word goes with the part before it: both are said of one thing.
    """
    out, waiting = list[str](), ""
    for part in parts:
        text = f"{waiting} {part}".strip()
        if {*ideas(raw_words(text))} <= CIRCUMSTANCES:
            waiting = text
        elif out and " " not in part:  # "it stumbles", "shudders"
            out[-1] = f"{out[-1]} {text}"
        else:
            out, waiting = [*out, text], ""
    if waiting:
        out[-1:] = [f"{out[-1]} {waiting}" if out else waiting]
    return out
