"""A sentence taken apart: what tells of the work done, what only says when or where, and what the car does."""

import re
from collections.abc import Sequence

from comeback.cli.words.passed import parts_said
from comeback.cli.words.search import Found, complaint_index, find_complaints
from comeback.cli.words.search_services import Services, find_services, left_unsaid
from comeback.cli.words.speech import LIGHT, ideas, raw_words
from comeback.kb.schema import KnowledgeBase

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


def work_said(knowledge: KnowledgeBase, text: str) -> Services:
    """The services that a sentence names as done, in clauses that say nothing else; none if it names none for sure."""
    clauses = [clause for part in parts_said(text) for clause in _work_clauses(knowledge, part)]
    found = find_services(knowledge, " and ".join(clauses), tuple(knowledge.services)) if clauses else Services()
    return found if found.sure else Services()


def without_work(knowledge: KnowledgeBase, parts: Sequence[str]) -> list[str]:
    """The parts of a sentence without their clauses that only tell of the work."""
    out = []
    for part in parts:
        for clause in _work_clauses(knowledge, part):
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


def _work_clauses(knowledge: KnowledgeBase, part: str) -> list[str]:
    """The clauses of a part that name a service and say nothing else of the car."""
    return [found[0] for found in _WORK.finditer(part) if _only_work(knowledge, found[0])]


def _only_work(knowledge: KnowledgeBase, clause: str) -> bool:
    found = find_services(knowledge, clause, tuple(knowledge.services))
    said = complaint_index(knowledge).weights
    return bool(found.said) and not any(idea in said and idea not in LIGHT for idea in left_unsaid(clause, found.said))


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
