"""Find the complaint that a customer's own words mean; forgiving of spelling."""

import re
from collections.abc import Iterable, Mapping
from difflib import SequenceMatcher

from comeback.kb.schema import KnowledgeBase

_SKIP = frozenset("the a an is it its and or to of in on at when my car does do i with after not".split())  # noqa: SIM905
KINDS = {"complaint": "complaints", "cause": "causes", "check": "checks"}
LEAST = 0.35
"""Matches below this share of the words are none."""


def _tokens(text: str) -> list[str]:
    return [word for word in re.findall(r"[a-z0-9']+", text.lower()) if word not in _SKIP]


def _near(one: str, other: str) -> float:
    if one == other:
        return 1.0
    if min(len(one), len(other)) >= 4 and (one.startswith(other) or other.startswith(one)):
        return 0.9
    ratio = SequenceMatcher(None, one, other).ratio()
    return ratio if ratio >= 0.75 and min(len(one), len(other)) >= 4 else 0.0


def rank(text: str, entries: Mapping[str, Iterable[str]]) -> list[str]:
    """Ids of `entries` (id -> phrases that mean it), best match first; those that match nothing last."""
    asked = _tokens(text)
    scores = {name: max((_score(asked, _tokens(p)) for p in phrases), default=0.0) for name, phrases in entries.items()}
    order = {name: i for i, name in enumerate(entries)}
    return sorted(entries, key=lambda name: (-scores[name], order[name]))


def _score(asked: list[str], phrase: list[str]) -> float:
    """Share of the phrase that was said, plus a little for the share of what was said that it covers."""
    if not asked or not phrase:
        return 0.0
    said = sum(max(_near(word, other) for other in asked) for word in phrase)
    covered = sum(max(_near(word, other) for other in phrase) for word in asked)
    return said / len(phrase) + 0.5 * covered / len(asked)


def search(knowledge: KnowledgeBase, text: str) -> list[tuple[str, str]]:
    """(kind, id) of the complaints, causes and checks that `text` may mean, best match first."""
    asked = _tokens(text) or [text.lower()]
    scored = []
    for kind, section in KINDS.items():
        for name, entry in getattr(knowledge, section).items():
            phrases = [entry.name, name.replace("-", " "), *(entry.words if kind == "complaint" else ())]
            score = max(_covered(asked, _tokens(phrase)) for phrase in phrases)
            if score >= LEAST:
                scored.append((-score, len(entry.name), kind, name))
    return [(kind, name) for _, _, kind, name in sorted(scored)]


def _covered(asked: list[str], phrase: list[str]) -> float:
    """Share of what was asked for that the phrase covers, plus a little for saying nothing else."""
    if not phrase:
        return 0.0
    covered = sum(max(_near(word, other) for other in phrase) for word in asked) / len(asked)
    return covered + 0.1 * min(1.0, len(asked) / len(phrase)) if covered else 0.0
