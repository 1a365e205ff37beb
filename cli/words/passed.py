"""Words that say the trouble has passed by itself ("it's fine now"), and what else was said beside them."""

import re

from comeback.engine.case.case import WORDS_APART

_APART = re.compile(
    r"[,;./]|\bbut\b|\band\b(?![ -](?:down|forth|go|off|on|out)\b)|\bthough\b|\bplus\b|\balso\b", re.IGNORECASE
)
_IT = r"(?:(?:it|that|this|the (?:light|lamp|noise|smell|leak|problem|trouble))(?:'s|s| is| has| had)? ?)?"
_NOW = r"(?: again)?(?: (?:now|today|since))?"
_FINE = r"(?:runs |drives |works )?(?:all )?(?:fine|ok|okay|good|right|alright|normal)(?: again)?"
_PASSED = re.compile(
    rf"(?:now )?{_IT}(?:(?:all )?gone{_NOW}|(?:has )?(?:gone|went) (?:away|out)(?: by itself)?{_NOW}"
    rf"|(?:the )?(?:light|lamp) (?:has )?(?:gone|went) off{_NOW}"
    rf"|(?:has )?(?:stopped|quit) (?:doing|making) (?:it|that){_NOW}|(?:has )?(?:cleared up|passed){_NOW}"
    rf"|back to normal{_NOW}|{_FINE} (?:now|today|since)|(?:out|off) (?:again )?now"
    rf"|(?:does not|doesn'?t|no longer) (?:do|does) (?:it|that)(?: any ?more| now)?)|now {_IT}{_FINE}"
)

_LIGHT = re.compile(r"\b(?:light|lamp)s?\b", re.IGNORECASE)
_OUT = re.compile(r"\b(?:light|lamp|out|off|gone|away)\b")


def parts_said(text: str) -> list[str]:
    """What was said, part by part, without the parts that say it has passed."""
    return [part for part in _parts(text) if not _PASSED.fullmatch(part.lower())]


def says_passed(text: str, lit: bool = False) -> bool:
    """True if somebody's last word is that the trouble has passed by itself, and nothing is said to be there still.

    Of a light that was named, or is what is complained of (`lit`), only that it is out: the engine may run fine.
    """
    said = [_parts(words) for words in text.split(WORDS_APART) if not re.search(r"\bstill\b", words, re.IGNORECASE)]
    last = [parts[-1].lower() for parts in said if parts and _PASSED.fullmatch(parts[-1].lower())]
    lit = lit or any(_LIGHT.search(part) for part in parts_said(text))
    return any(_OUT.search(words) for words in last) if lit else bool(last)


def _parts(text: str) -> list[str]:
    plain = " ".join(text.replace("\u2019", "'").split())
    return [part for part in (part.strip(" !") for part in _APART.split(plain)) if part]
