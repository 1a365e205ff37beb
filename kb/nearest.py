"""The known word that a typed word most likely means."""

from collections.abc import Iterable


def nearest(word: str, known: Iterable[str], most: int = 1, likeness: float = 0.6) -> list[str]:
    """Up to `most` known words, best first, at least this alike.

    Likeness is 0 to 1: twice the letters in common and in order, over the letters of both words.
    """
    from rapidfuzz.fuzz import ratio
    from rapidfuzz.process import extract

    return [name for name, _, _ in extract(word, list(known), scorer=ratio, limit=most, score_cutoff=100 * likeness)]
