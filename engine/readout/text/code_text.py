"""Trouble codes in text as people type or print it -> codes with their kind, and codes that the text denies.

`Stored codes: P0300, p0316`, `P0171 pending`, `P0300 cleared, not P0301`. A word of kind stands before
or behind its codes. What a line denies, asks or only supposes is never taken, and always named: the
reader errs on the side of asking. Words of definitions (`no signal`, `current control`, `not plausible`)
must not look like a denial or a kind; so `no` and `not` count only beside a code or a word that says
whether it is there.
"""

import re
from dataclasses import dataclass

from comeback.engine.readout.protocol.trouble_codes import LISTED, PENDING, PERMANENT, STORED, read_code

_CODE = re.compile(
    r"(?<![A-Z0-9])(?:[PCBU]-?[0-3][0-9A-F]{3}|[PCBU] 0[0-9A-F]{3}|[PCBU]O\d{3})(?:[-:][0-9A-F]{2})?(?![A-Z0-9])", re.I
)
_BETWEEN = re.compile(r"[\s,&/+]*(?:\band\b|\bor\b)?[\s,&/+]*\Z", re.I)
_SENTENCE = re.compile(r"[;!]|\.(?=\s|\Z)|\?(?=\s*[A-Za-z])|\bbut\b", re.I)
_KINDS = {
    STORED: re.compile(
        r"\b(stored|confirmed|history|historic(al)?|(current|active)\s+(trouble |fault )?(codes?|dtcs?|faults?))\b",
        re.I,
    ),
    PENDING: re.compile(r"\b(pending|unconfirmed)\b", re.I),
    PERMANENT: re.compile(r"\bpermanent\b", re.I),
}
_NOT_KIND = re.compile(r"(\b(not|never)|n't)\s+(yet\s+|been\s+)*(stored|confirmed|pending|permanent|history)\b", re.I)
_NO_CODE_NEXT = re.compile(
    r"\b(no|not|never|without|neither|nor|isn't|wasn't|free of|instead of|rather than|except|unlike)\s+"
    r"((a|an|the|any|more|longer|codes?|dtcs?|faults?|trouble|stored|confirmed|pending|permanent|active|for)\s+)*[:\s]*\Z",
    re.I,
)
_GONE = re.compile(
    r"\b(clear(ed|ing)?|eras(ed?|ing)|deleted?|removed?|fixed|repaired|solved|resolved|cured|gone|ruled out|went away|"
    r"passed)\b",
    re.I,
)
_CLEARED = re.compile(r"\b(cleared|erased|deleted)\b", re.I)
_NOT_GONE = re.compile(rf"(\b(not|never|cannot)|n't)\s+(be\s+|been\s+|yet\s+)*{_GONE.pattern}", re.I)
_NOT_THERE = re.compile(
    r"(\b(not|never|no longer)|n't)\s+(yet\s+|been\s+|currently\s+|any ?more\s+)*"
    r"(there|present|set|found|seen|active|detected|logged|read|showing|listed|stored|confirmed|pending|permanent|"
    r"(come |came |coming )?back|return(ed|ing)?)\b"
    r"|\A\W*(no|none|not|ok|absent|0)\W*\Z|\A\W*(is\s+|was\s+)?not\b(?! only)",
    re.I,
)
_BACK = re.compile(r"\b((came|come|comes|is|are) back|back again|return(s|ed)|reappear(s|ed)|still)\b", re.I)
_NO = re.compile(r"\b(no|not|never)\b|n't\b", re.I)
_AFTER_CLEARING = re.compile(r"\b(after|since)\b.*:\s*\Z", re.I)
_SUPPOSED = re.compile(
    r"\b(if|whether|maybe|perhaps|might|may|could|would|should|suspect(ed)?|possibly|for example|e\.g|such as|"
    r"(look|check|watch)(ing|ed)? for|expect(ed)?|like)\b",
    re.I,
)
_SUBJECT = frozenset(("code", "codes", "dtc", "dtcs", "fault", "faults"))
_FILLER = _SUBJECT | frozenset(
    "trouble diagnostic error errors any are is were was there found present set logged recorded in memory the this "  # noqa: SIM905
    "that system of list count number total on all control unit units module engine powertrain and or currently read "
    "from by scan tool now have has been".split()
)
_NOTHING = frozenset(("no", "none", "0", "zero", "nil", "empty"))


@dataclass(frozen=True)
class CodeLine:
    """What one line says of codes. `codes`: (code, kind) pairs; `denied`: (code, why it was not taken).

    `heading`: kinds of the codes that follow, () for a heading that names none, None if it is no heading.
    `empty`: kinds of which the line says that there is no code. `cleared`: codes were erased.
    """

    codes: tuple[tuple[str, str], ...] = ()
    denied: tuple[tuple[str, str], ...] = ()
    heading: tuple[str, ...] | None = None
    empty: tuple[str, ...] = ()
    cleared: bool = False


@dataclass
class _Run:
    """Codes in a row, with the words before and after that apply to them."""

    codes: list[str]
    before: str = ""
    behind: str = ""


def read_code_line(text: str, carried: tuple[str, ...] = ()) -> CodeLine:
    """What the line says of codes; `carried` are the kinds of the heading above it. Never raises."""
    if not _CODE.search(text):
        return _without_code(text, carried)
    codes: dict[tuple[str, str], None] = {}
    denied: dict[str, str] = {}
    cleared = False
    kinds = carried
    for sentence in _SENTENCE.split(text):
        for run in _runs(sentence, text):
            why, gone = _denial(run)
            cleared |= gone
            if why:
                denied.update(dict.fromkeys(run.codes, why))
                continue
            own = (_kinds_in(_NOT_KIND.sub("", words)) for words in (run.behind, run.before))
            kinds = next(filter(None, own), kinds)
            codes.update({(code, kind): None for code in run.codes for kind in kinds or (LISTED,)})
    taken = {code for code, _ in codes}
    left = tuple((code, why) for code, why in denied.items() if code not in taken)
    return CodeLine(tuple(codes), left, cleared=cleared)


def mask_codes(text: str) -> str:
    """The text with blanks where codes stand, so that their digits are not read as values."""
    return _CODE.sub(lambda match: " " * len(match[0]), text)


def _kinds_in(words: str) -> tuple[str, ...]:
    return tuple(kind for kind, pattern in _KINDS.items() if pattern.search(words))


def _runs(sentence: str, whole: str) -> list[_Run]:
    """Runs of codes; the words between two runs belong to the one that they follow, or introduce."""
    runs: list[_Run] = []
    end = 0
    for match in _CODE.finditer(sentence):
        words, before = sentence[end : match.start()], ""
        if runs and _BETWEEN.match(words):
            runs[-1].codes.append(_code_in(match[0]))
        else:
            if runs:
                runs[-1].behind, before = _share(words, runs[0])
            runs.append(_Run([_code_in(match[0])], before if runs else words))
        end = match.end()
    if runs:
        rest = sentence[end:]
        asked = whole.rstrip().endswith("?") and whole.rstrip(" ?").endswith(sentence.rstrip(" ?"))
        runs[-1].behind = rest + (" ?" if asked and "?" not in rest else "")
    return runs


def _code_in(text: str) -> str:
    """A code, perhaps with a blank, a hyphen or the letter O for its first digit."""
    plain = re.sub(r"\A(.)[- ]", r"\1", text.upper())
    return read_code(re.sub(r"\A(.)O", r"\g<1>0", plain)) or plain


def _share(words: str, first: _Run) -> tuple[str, str]:
    """Words between two runs: (behind the one, before the next)."""
    denial = _NO_CODE_NEXT.search(words)
    if denial:
        return words[: denial.start()], words[denial.start() :]
    if "," in words:
        behind, _, before = words.rpartition(",")
        return behind, before
    led = _kinds_in(first.before) or _GONE.search(first.before) or words.rstrip().endswith(":")
    return ("", words) if led else (words, "")


def _denial(run: _Run) -> tuple[str, bool]:
    """(why the codes are not taken or empty, whether they were cleared)."""
    before, behind = _NOT_GONE.sub("", run.before), _NOT_GONE.sub("", run.behind)
    if _kinds_in(_NOT_KIND.sub("", behind)):
        behind = _NOT_KIND.sub("", behind)  # `pending, not yet stored` is pending
    gone = _GONE.search(behind) or _GONE.search(before)
    if gone and _AFTER_CLEARING.search(before):
        return "", True
    denied = _NO_CODE_NEXT.search(before) or _NOT_THERE.search(behind)
    if denied:
        return denied[0].strip(" ,:-"), bool(gone)
    if gone:
        said = f"{before} {behind}"
        back = bool(_BACK.search(said)) and not _NO.search(said)
        return ("" if back else gone[0]), bool(_CLEARED.search(said)) or back
    supposed = _SUPPOSED.search(before) or re.match(r"\W*\?", behind)
    return (supposed[0].strip() if supposed else ""), False


def _without_code(text: str, carried: tuple[str, ...]) -> CodeLine:
    """A heading, `no codes`, `pending: none`, `codes were cleared`, or nothing about codes."""
    words = re.findall(r"[a-z']+|\d+", text.lower())
    kinds = _kinds_in(text)
    of_kind = " ".join(match[0].lower() for pattern in _KINDS.values() for match in pattern.finditer(text)).split()
    left = [word for word in words if word not in _FILLER and word not in of_kind]
    subject = bool(kinds) or any(word in _SUBJECT for word in words)
    if left and all(word in _NOTHING for word in left) and (subject or (carried and len(words) == 1)):
        return CodeLine(empty=kinds or carried or (LISTED,))
    if carried and text.strip() in ("-", "--", "---", "\u2013"):
        return CodeLine(empty=carried)
    if subject and left and all(_CLEARED.fullmatch(word) for word in left):
        return CodeLine(cleared=True)
    if subject and all(word.isdigit() for word in left):
        return CodeLine(heading=kinds)
    return CodeLine()
