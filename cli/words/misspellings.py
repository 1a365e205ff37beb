"""Slips of the fingers: the known word that was meant, by letters missed, added, wrong or swapped."""

from collections.abc import Collection

from rapidfuzz.distance import OSA

SHORTEST = 4
"""Shorter words are taken as they are: too many others are near them."""
LONG = 7
"""From so many letters two slips are accepted, below that one."""
SOUND = str.maketrans("zcyv", "skif")
"""Letters that sound alike are one: of two words as near, the one that sounds the same was meant."""


def corrected(word: str, known: Collection[str]) -> str:
    """The known word that `word` is a slip of the fingers from; `word` itself if there is none."""
    if word in known or len(word) < SHORTEST or word.isdecimal():
        return word
    most = 1 if len(word) < LONG else 2
    alike = (
        o for o in known if len(o) >= SHORTEST and abs(len(o) - len(word)) <= most and len(set(word) - set(o)) <= most
    )
    sound = word.translate(SOUND)
    near = (
        (OSA.distance(word, o, score_cutoff=most), o.translate(SOUND) != sound, o[0] != word[0], -len(o), o)
        for o in alike
    )
    slips, *_, best = min(near, default=(most + 1, True, True, 0, word))
    if slips <= most:
        return best
    begun = [other for other in known if other.startswith(word)]
    return min(begun, key=lambda other: (len(other), other), default=word)
