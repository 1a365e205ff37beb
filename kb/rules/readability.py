"""How hard a text is to follow when it is read aloud: Flesch-Kincaid grade, with a syllable counter of its own.

    grade = 0.39 words/sentences + 11.8 syllables/words - 15.59

Kincaid, Fishburne, Rogers & Chissom 1975, "Derivation of new readability formulas for Navy enlisted personnel",
Research Branch Report 8-75 (report not read; constants as in a public summary of it). The grade is a US school year.
It counts lengths only: short words can still be jargon.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from comeback.kb.rules.bearing import bears_on
from comeback.kb.schema import Complaint, KnowledgeBase
from comeback.kb.vocabulary import Audience

HARDEST_GRADE = 7.0
"""Flesch-Kincaid grade of the hardest call; judged, for a caller under stress."""
LONGEST_AVERAGE = 12.0
"""Words a sentence on average, at most, in what a call reads aloud; judged."""

_WORD = re.compile(r"[A-Za-z]+(?:'[a-z]+)?|\d+(?:\.\d+)?")
_SILENT_E = re.compile(r"(?<![^aeiouylr]l)(?:(?<=[^aeiouy])e|(?<=[^aeiouytd])ed|(?<=[^aeiouyscgxz])(?<!ch)(?<!sh)es)$")
"""The last e of `pipe`, `pipes`, `piped`, not of `nozzle`, `gases`, `heated`."""
_SPLIT = re.compile(r"(?<=[.?!])\s+")
_EXCEPTIONS = {
    "anyone": 3, "are": 1, "area": 3, "business": 2, "every": 2, "fluid": 2, "idea": 3, "one": 1, "something": 2,
    "sometimes": 2,
}  # fmt: skip
"""Words that the rule below gets wrong and that callers hear."""


@dataclass(frozen=True)
class Counts:
    """Counts of a text; the figures follow from them."""

    sentences: int
    words: int
    syllables: int

    @property
    def average(self) -> float:
        """Words in a sentence."""
        return self.words / self.sentences

    @property
    def grade(self) -> float:
        """Flesch-Kincaid grade."""
        return grade(self.average, self.syllables / self.words)


def grade(words_per_sentence: float, syllables_per_word: float) -> float:
    """The formula alone."""
    return 0.39 * words_per_sentence + 11.8 * syllables_per_word - 15.59


def measure(texts: Iterable[str]) -> Counts:
    """Counts over all texts; each ends a sentence, with or without a full stop. At least one of everything."""
    sentences = [part for text in texts for part in _SPLIT.split(text) if _WORD.search(part)]
    words = [word for sentence in sentences for word in _WORD.findall(sentence)]
    return Counts(max(1, len(sentences)), max(1, len(words)), max(1, sum(map(syllables, words))))


def read_aloud(knowledge: KnowledgeBase, complaint: Complaint) -> list[str]:
    """All that a call about this complaint may read aloud: danger signs, questions, remedies, every advice."""
    near = {check for cause in bears_on(knowledge, complaint) for check in knowledge.causes[cause].shows}
    asked = [
        check.say
        for check in knowledge.checks.values()
        if check.say and Audience.PHONE in check.audience and (check.id in near or check.id in complaint.red_flags)
    ]
    remedies = [check.remedy for check in knowledge.checks.values() if check.remedy and check.id in near]
    acts = [line for remedy in remedies for line in (remedy.do, *remedy.then, remedy.again) if line]
    return [
        *asked,
        *acts,
        *(line for advice in knowledge.dispositions.values() for line in (*advice.say, *advice.worse)),
    ]


def syllables(word: str) -> int:
    """Syllables of an English word: groups of vowels, less those that are written but not spoken."""
    word = word.lower()
    if word[0].isdigit():
        return sum(2 if digit in "07" else 1 for digit in word if digit.isdigit())
    word = re.sub(r"'(s|d|m|t|ll|re|ve)$", "", word)
    if word in _EXCEPTIONS:
        return _EXCEPTIONS[word]
    count = len(re.findall(r"[aeiouy]+", word))
    count += len(re.findall(r"[^aeiouy](?:ia|io)(?![nu])|iu[ms]|[aeo]ing$|ual$|uou?s$", word))  # spoken apart
    return max(1, count - bool(len(word) > 3 and _SILENT_E.search(word)))
