"""License plates read back: letters by the ICAO spelling alphabet, digits one by one, in groups."""

import re

ALPHABET = (
    "Alfa Bravo Charlie Delta Echo Foxtrot Golf Hotel India Juliett Kilo Lima Mike November Oscar Papa Quebec "
    "Romeo Sierra Tango Uniform Victor Whiskey X-ray Yankee Zulu"
)
"""The spelling alphabet of the International Civil Aviation Organization (widely published; from memory)."""
LETTERS = {word[0]: word for word in ALPHABET.split()}
DIGITS = dict(enumerate("zero one two three four five six seven eight nine".split()))  # noqa: SIM905


def tidy(text: str) -> str:
    """Capitals, single blanks, nothing but letters, digits, blanks and hyphens."""
    return " ".join(re.sub(r"[^A-Z0-9 -]", "", text.upper()).split())


def same(one: str, other: str) -> bool:
    """True if both are the same signs, whatever the blanks and hyphens."""
    return re.sub(r"[ -]", "", tidy(one)) == re.sub(r"[ -]", "", tidy(other))


def spelt(text: str) -> str:
    """`AB 12` -> `Alfa Bravo, one two`: groups as typed, or where letters and digits change."""
    groups = re.findall(r"[A-Z]+|[0-9]+", tidy(text))
    return ", ".join(" ".join(LETTERS.get(sign) or DIGITS[int(sign)] for sign in group) for group in groups)
