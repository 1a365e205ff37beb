"""Find the complaint that a customer's own words mean; forgiving of spelling."""

import re
from collections.abc import Iterable, Mapping
from difflib import SequenceMatcher

_SKIP = frozenset(
    [
        "the",
        "a",
        "an",
        "is",
        "it",
        "its",
        "and",
        "or",
        "to",
        "of",
        "in",
        "on",
        "at",
        "when",
        "my",
        "car",
        "does",
        "do",
        "i",
        "with",
        "after",
        "not",
    ]
)


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
