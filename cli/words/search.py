"""Find the complaint or service that somebody's own words mean; forgiving of spelling, dangers first.

A phrase fits by the weight of its words that were said and of what was said that it covers (the harmonic
mean of both shares). A word weighs more the fewer entries have it. Words of danger to people always bring
the entry with that danger to the top; only a phrase that says the same word and more about it may stand above.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import log

from comeback.cli.words.misspellings import corrected
from comeback.cli.words.speech import KNOWN, LIGHT, ideas, raw_words, stem
from comeback.kb.schema import Complaint, KnowledgeBase
from comeback.kb.vocabulary import Disposition, Tier

KINDS = {"complaint": "complaints", "cause": "causes", "check": "checks"}
LEAST_FIT = 0.3
"""What fits worse is not what was meant."""
NEAR = 0.6
"""Complaints are read out that fit at least this share as well as the best."""
THROTTLE_STUCK = "revs-hang"
"""The check whose complaints say that the engine goes on with the foot off the pedal."""
WONT_STOP = "nostop"
"""The idea of "cannot stop": weak brakes or an engine that goes on."""
TELL_NOTHING = frozenset(LIGHT) - {"stop"}
"""What shares no other idea with a phrase does not mean it: "barely got home" is not "barely turns over"."""
UNDENIED = 0.5
"""Factor for a phrase that says "not" where the customer did not: "it starts" is not "it will not start"."""
STRANGE = 0.4
"""Weight of a word that no phrase has, beside 1 for a word of one phrase in three."""

Phrases = tuple[tuple[str, tuple[str, ...]], ...]
"""(id, phrases that mean it), hashable."""


@dataclass(frozen=True)
class Fit:
    """How well an entry fits: its score from 0 to 1, the ideas of its best phrase, the dangers that were said."""

    score: float
    phrase: frozenset[str]
    danger: frozenset[str]


@dataclass(frozen=True)
class Index:
    """Phrases made comparable once: words for spelling, ideas of each phrase, weight of each idea."""

    words: frozenset[str]
    phrases: Mapping[str, tuple[frozenset[str], ...]]
    weights: Mapping[str, float]

    def asked(self, text: str, right: Collection[str] = ()) -> frozenset[str]:
        """The ideas of what was typed, its spelling corrected; `right`: stems of other words that are spelled right."""
        spelled = (w if stem(w) in KNOWN or stem(w) in right else corrected(w, self.words) for w in raw_words(text))
        return frozenset(ideas([*spelled]))

    def weight(self, said: Iterable[str]) -> float:
        """Sum of weights."""
        return sum(self.weights.get(idea, STRANGE * LIGHT.get(idea, 1.0)) for idea in said)

    def fit(self, asked: frozenset[str], name: str) -> Fit:
        """How well the entry's phrases fit what was asked."""
        whole = self.weight(asked)
        if not whole or asked <= {"not"}:
            return Fit(0.0, frozenset(), frozenset())
        best, danger = (0.0, frozenset[str]()), frozenset[str]()
        every = frozenset[str]().union(*self.phrases[name])
        for phrase in self.phrases[name]:
            shared = asked & phrase
            both = 0.0 if shared <= TELL_NOTHING else self.weight(shared)
            score = 2 * both / (whole + self.weight(phrase)) if both else 0.0
            score *= UNDENIED if "not" in phrase - asked else 1.0
            best = max(best, (score, phrase), key=lambda pair: pair[0])
            if phrase and phrase <= asked:
                danger |= phrase
        share = self.weight(asked & every) / whole if best[0] else 0.0
        return Fit(0.7 * best[0] + 0.3 * share, best[1], danger)


@lru_cache(maxsize=32)
def index(entries: Phrases) -> Index:
    """The index of the phrases; made once for each set of entries."""
    split = {name: [raw_words(phrase) for phrase in phrases] for name, phrases in entries}
    phrases = {name: tuple(frozenset(ideas(words)) for words in many) for name, many in split.items()}
    spelt = frozenset(word for many in split.values() for words in many for word in words if len(word) > 2)
    counts: dict[str, int] = {}
    for name in phrases:
        for idea in frozenset[str]().union(*phrases[name]):
            counts[idea] = counts.get(idea, 0) + 1
    scale = log(1 + len(phrases) / 3) or 1.0
    weights = {i: LIGHT.get(i, 1.0) * log(1 + len(phrases) / n) / scale for i, n in counts.items()}
    return Index(spelt | KNOWN, phrases, weights)


def fits(
    text: str, entries: Mapping[str, Iterable[str]], right: Collection[str] = ()
) -> tuple[frozenset[str], dict[str, Fit]]:
    """The ideas of `text`, and how well each of `entries` (id -> phrases that mean it) fits them."""
    known = index(tuple((name, tuple(phrases)) for name, phrases in entries.items()))
    asked = known.asked(text, right)
    return asked, {name: known.fit(asked, name) for name in entries}


def rank(text: str, entries: Mapping[str, Iterable[str]]) -> list[str]:
    """Ids of `entries` (id -> phrases that mean it), best match first; those that match nothing last."""
    _, found = fits(text, entries)
    return sorted(found, key=lambda name: -found[name].score)


def spelled_right(knowledge: KnowledgeBase) -> frozenset[str]:
    """Stems of the words that the knowledge itself uses: "hose" is no slip of "home", nor "black" of "back"."""
    checks = ((check.name, check.say, *check.results.values()) for check in knowledge.checks.values())
    causes = ((cause.name, cause.tell) for cause in knowledge.causes.values())
    return _stems(tuple(text for texts in (*checks, *causes) for text in texts if text))


@lru_cache(maxsize=2)
def _stems(texts: tuple[str, ...]) -> frozenset[str]:
    return frozenset(stem(word) for text in texts for word in raw_words(text) if len(word) > 2)


@dataclass(frozen=True)
class Found:
    """Complaints, best first; `near`: those of them worth reading out, none if nothing fits.

    `danger`: the ideas by which a danger to people was named, none if it was not. `score`, `phrase`: how well the best
    fits, and by which ideas.
    """

    complaints: tuple[str, ...]
    near: tuple[str, ...]
    danger: frozenset[str]
    score: float
    phrase: frozenset[str]


def complaint_index(knowledge: KnowledgeBase, among: Iterable[str] | None = None) -> Index:
    """The index of the phrases of these complaints, of all if none are given."""
    entries = ((name, knowledge.complaints[name]) for name in (knowledge.complaints if among is None else among))
    return index(tuple((name, (entry.name, *entry.words)) for name, entry in entries))


def find_complaints(knowledge: KnowledgeBase, text: str, among: Iterable[str]) -> Found:
    """The complaints that `text` may mean, those with a danger to people that it names first."""
    entries = {name: knowledge.complaints[name] for name in among}
    known = complaint_index(knowledge, entries)
    asked = known.asked(text, spelled_right(knowledge))
    found = {name: known.fit(asked, name) for name in entries}
    ranked = sorted(entries, key=lambda name: -found[name].score)
    named = [name for name in ranked if found[name].danger and endangers(knowledge, entries[name])]
    said = frozenset[str]().union(*(found[name].danger for name in named))
    best = found[ranked[0]] if ranked else Fit(0.0, said, said)
    first = ranked[:1] if named and said < (best.phrase & asked | best.danger) else []
    order = tuple(dict.fromkeys((*first, *named, *ranked)))
    least = max(LEAST_FIT, NEAR * best.score)
    near = tuple(name for name in order if name in named or found[name].score >= least)
    return Found(order, near, said, best.score, best.phrase & asked)


def named_signs(knowledge: KnowledgeBase, text: str) -> tuple[str, ...]:
    """The danger signs that `text` names: checks, the surest first; none if it names no danger to people."""
    found = find_complaints(knowledge, text, knowledge.complaints)
    named = (knowledge.complaints[name] for name in (found.near if found.danger else ()))
    stated = (check for entry in named if endangers(knowledge, entry) for check in entry.reports)
    return tuple(dict.fromkeys(check for check in stated if knowledge.checks[check].red_flag))


def likely_signs(knowledge: KnowledgeBase, text: str) -> tuple[str, ...]:
    """The same; without danger to people those that the complaint states which fits best, as a red oil lamp."""
    near = find_complaints(knowledge, text, knowledge.complaints).near[:1]
    stated = (check for name in near for check in knowledge.complaints[name].reports)
    return named_signs(knowledge, text) or tuple(check for check in stated if knowledge.checks[check].red_flag)


def will_not_slow(knowledge: KnowledgeBase, text: str) -> bool:
    """True if `text` may mean a car that goes on by itself, as "racing" or "cannot stop": best or second best."""
    found = find_complaints(knowledge, text, knowledge.complaints)
    racing = any(THROTTLE_STUCK in knowledge.complaints[name].reports for name in found.near[:2])
    return racing or WONT_STOP in found.danger


def open_complaint(knowledge: KnowledgeBase, among: Iterable[str]) -> str | None:
    """The complaint that states nothing, for what fits no other; None if the knowledge has none."""
    return next((name for name in among if not knowledge.complaints[name].reports), None)


def endangers(knowledge: KnowledgeBase, complaint: Complaint) -> bool:
    """True if the complaint itself states a danger to people with which the car is not driven."""
    stated = ((knowledge.checks[check], result) for check, result in complaint.reports.items())
    return any(
        check.tier is Tier.PEOPLE and check.red_flag.get(result, Disposition.WATCH) >= Disposition.TOW
        for check, result in stated
    )


def search(knowledge: KnowledgeBase, text: str) -> list[tuple[str, str]]:
    """(kind, id) of the complaints, causes and checks that `text` may mean, best match first."""
    entries = {
        f"{kind} {name}": (entry.name, name.replace("-", " "), *(entry.words if kind == "complaint" else ()))
        for kind, section in KINDS.items()
        for name, entry in getattr(knowledge, section).items()
    }
    _, found = fits(text, entries)
    ranked = sorted((key for key in entries if found[key].score >= LEAST_FIT), key=lambda key: (-found[key].score, key))
    return [(kind, name) for kind, _, name in (key.partition(" ") for key in ranked)]
