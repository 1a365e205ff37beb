"""Trouble codes in text as people type or print it -> codes with their kind, and codes that the text denies.

`Stored codes: P0300, p0316`, `P0171 pending`, `P0300 cleared, not P0301`. A word of kind stands before
or behind its codes. What a line denies, asks or only supposes is never taken, and always named: the
reader errs on the side of asking.
"""

import re
from dataclasses import dataclass

from comeback.engine.readout.protocol.j1979 import LISTED
from comeback.engine.readout.protocol.trouble_codes import read_code
from comeback.engine.readout.text.code_words import (
    AFTER_CLEARING,
    BACK,
    BETWEEN,
    CLEARED,
    CODE,
    FILLER,
    GONE,
    KINDS,
    NO,
    NO_CODE_NEXT,
    NOT_GONE,
    NOT_KIND,
    NOT_THERE,
    NOTHING,
    SENTENCE,
    SUBJECT,
    SUPPOSED,
)


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

    @property
    def understood(self) -> bool:
        """True if the line says anything of codes."""
        return bool(self.codes or self.denied or self.empty or self.cleared) or self.heading is not None


@dataclass
class _Run:
    """Codes that stand together, with the words before and behind them that are theirs."""

    codes: list[str]
    before: str = ""
    behind: str = ""


def read_code_line(text: str, carried: tuple[str, ...] = ()) -> CodeLine:
    """What the line says of codes; `carried` are the kinds of the heading above it. Never raises."""
    if not CODE.search(text):
        return _without_code(text, carried)
    codes: dict[tuple[str, str], None] = {}
    denied: dict[str, str] = {}
    cleared = False
    kinds = carried
    for sentence in SENTENCE.split(text):
        for run in _runs(sentence, text):
            why, gone = _denial(run)
            cleared |= gone
            if why:
                denied.update(dict.fromkeys(run.codes, why))
                continue
            own = _kinds(run)
            kinds = own or kinds
            codes.update({(code, kind): None for code in run.codes for kind in kinds or (LISTED,)})
    taken = {code for code, _ in codes}
    left = tuple((code, why) for code, why in denied.items() if code not in taken)
    return CodeLine(tuple(codes), left, cleared=cleared)


def mask_codes(text: str) -> str:
    """The text with blanks where codes stand, so that their digits are not read as values."""
    return CODE.sub(lambda match: " " * len(match[0]), text)


def _runs(sentence: str, whole: str) -> list[_Run]:
    """Runs of codes; the words between two runs belong to the one that they follow, or introduce."""
    runs: list[_Run] = []
    end = 0
    for match in CODE.finditer(sentence):
        words = sentence[end : match.start()]
        found = _codes_in(match[0])
        if runs and BETWEEN.match(words):
            runs[-1].codes += found
        else:
            behind, before = _share(words, runs[0]) if runs else ("", words)
            if runs:
                runs[-1].behind = behind
            runs.append(_Run(found, before))
        end = match.end()
    if runs:
        rest = sentence[end:]
        asked = whole.rstrip().endswith("?") and whole.rstrip(" ?").endswith(sentence.rstrip(" ?"))
        runs[-1].behind = rest + (" ?" if asked and "?" not in rest else "")
    return runs


def _codes_in(text: str) -> list[str]:
    plain = text.upper().replace(" ", "").replace("-", "", 1) if text[1] in "- " else text.upper()
    if len(plain) > 8:
        return [plain[i : i + 5] for i in range(0, len(plain), 5)]
    if plain[1] == "O":
        plain = f"{plain[0]}0{plain[2:]}"
    code = read_code(plain)
    return [code] if code else []


def _share(words: str, first: _Run) -> tuple[str, str]:
    """Words between two runs: (behind the one, before the next)."""
    denial = NO_CODE_NEXT.search(words)
    if denial:
        return words[: denial.start()], words[denial.start() :]
    if "," in words:
        behind, _, before = words.rpartition(",")
        return behind, before
    led = any(kind.search(first.before) for kind in KINDS.values()) or bool(GONE.search(first.before))
    return ("", words) if led or words.rstrip().endswith(":") else (words, "")


def _denial(run: _Run) -> tuple[str, bool]:
    """(why the codes are not taken or empty, whether they were cleared)."""
    before, behind = NOT_GONE.sub("", run.before), NOT_GONE.sub("", run.behind)
    if any(kind.search(NOT_KIND.sub("", behind)) for kind in KINDS.values()):
        behind = NOT_KIND.sub("", behind)  # `pending, not yet stored` is pending
    gone = GONE.search(behind) or GONE.search(before)
    if gone and AFTER_CLEARING.search(before):
        return "", True
    denied = NO_CODE_NEXT.search(before) or NOT_THERE.search(behind)
    if denied:
        return denied[0].strip(" ,:-"), bool(gone)
    if gone:
        said = f"{before} {behind}"
        back = bool(BACK.search(said)) and not NO.search(said)
        return ("" if back else gone[0]), bool(CLEARED.search(said)) or back
    supposed = SUPPOSED.search(before) or re.match(r"\W*\?", behind)
    return (supposed[0].strip() if supposed else ""), False


def _kinds(run: _Run) -> tuple[str, ...]:
    """Kinds named behind the codes, else before them; one that is denied does not count."""
    for words in (run.behind, run.before):
        kept = NOT_KIND.sub("", words)
        found = tuple(kind for kind, pattern in KINDS.items() if pattern.search(kept))
        if found:
            return found
    return ()


def _without_code(text: str, carried: tuple[str, ...]) -> CodeLine:
    """A heading, `no codes`, `pending: none`, `codes were cleared`, or nothing about codes."""
    words = re.findall(r"[a-z']+|\d+", text.lower())
    kinds = tuple(kind for kind, pattern in KINDS.items() if pattern.search(text))
    of_kind = {match[0].lower() for pattern in KINDS.values() for match in pattern.finditer(text)}
    of_kind = {word for phrase in of_kind for word in phrase.split()}
    left = [word for word in words if word not in FILLER and word not in of_kind]
    subject = bool(kinds) or any(word in SUBJECT for word in words)
    if left and all(word in NOTHING for word in left) and (subject or (carried and len(words) == 1)):
        return CodeLine(empty=kinds or carried or (LISTED,))
    if carried and not words and set(text.strip()) in ({"-"}, {"\u2013"}):
        return CodeLine(empty=carried) if len(text.strip()) <= 3 else CodeLine()
    if subject and left and all(CLEARED.fullmatch(word) for word in left):
        return CodeLine(cleared=True)
    if subject and all(word.isdigit() for word in left):
        return CodeLine(heading=kinds)
    return CodeLine()
