"""Patterns for codes in plain text, and for the words beside them: kind, denial, clearing, supposing.

Words of definitions (`no signal`, `current control`, `not plausible`) must not look like a denial or a
kind; so `no` and `not` count only beside a code or a word that says whether it is there.
"""

import re

from comeback.engine.readout.protocol.j1979 import PENDING, PERMANENT, STORED

ONE = r"(?:[PCBU]-?[0-3][0-9A-F]{3}|[PCBU] 0[0-9A-F]{3}|[PCBU]O\d{3})(?:[-:][0-9A-F]{2})?"
CODE = re.compile(rf"(?<![A-Z0-9])(?:[PU][0-3][0-9A-F]{{3}}(?:[PCBU][0-3][0-9A-F]{{3}})+|{ONE})(?![A-Z0-9])", re.I)
BETWEEN = re.compile(r"[\s,&/+]*(?:\band\b|\bor\b)?[\s,&/+]*\Z", re.I)
SENTENCE = re.compile(r"[;!]|\.(?=\s|\Z)|\?(?=\s*[A-Za-z])|\bbut\b", re.I)
KINDS = {
    STORED: re.compile(
        r"\b(stored|confirmed|history|historic(al)?|(current|active)\s+(trouble |fault )?(codes?|dtcs?|faults?))\b",
        re.I,
    ),
    PENDING: re.compile(r"\b(pending|unconfirmed)\b", re.I),
    PERMANENT: re.compile(r"\bpermanent\b", re.I),
}
NOT_KIND = re.compile(r"(\b(not|never)|n't)\s+(yet\s+|been\s+)*(stored|confirmed|pending|permanent|history)\b", re.I)
NO_CODE_NEXT = re.compile(
    r"\b(no|not|never|without|neither|nor|isn't|wasn't|free of|instead of|rather than|except|unlike)\s+"
    r"((a|an|the|any|more|longer|codes?|dtcs?|faults?|trouble|stored|confirmed|pending|permanent|active|for)\s+)*[:\s]*\Z",
    re.I,
)
GONE = re.compile(
    r"\b(clear(ed|ing)?|eras(ed?|ing)|deleted?|removed?|fixed|repaired|solved|resolved|cured|gone|ruled out|went away|"
    r"passed)\b",
    re.I,
)
CLEARED = re.compile(r"\b(cleared|erased|deleted)\b", re.I)
NOT_GONE = re.compile(rf"(\b(not|never|cannot)|n't)\s+(be\s+|been\s+|yet\s+)*{GONE.pattern}", re.I)
NOT_THERE = re.compile(
    r"(\b(not|never|no longer)|n't)\s+(yet\s+|been\s+|currently\s+|any ?more\s+)*"
    r"(there|present|set|found|seen|active|detected|logged|read|showing|listed|stored|confirmed|pending|permanent|"
    r"(come |came |coming )?back|return(ed|ing)?)\b"
    r"|\A\W*(no|none|not|ok|absent|0)\W*\Z|\A\W*(is\s+|was\s+)?not\b(?! only)",
    re.I,
)
BACK = re.compile(
    r"\b(came back|come back|comes back|is back|are back|back again|return(s|ed)|reappear(s|ed)|still)\b", re.I
)
NO = re.compile(r"\b(no|not|never)\b|n't\b", re.I)
AFTER_CLEARING = re.compile(r"\b(after|since)\b.*:\s*\Z", re.I)
SUPPOSED = re.compile(
    r"\b(if|whether|maybe|perhaps|might|may|could|would|should|suspect(ed)?|possibly|for example|e\.g|such as|"
    r"look(ing|ed)? for|check(ing|ed)? for|watch(ing|ed)? for|expect(ed)?|like)\b",
    re.I,
)  # fmt: skip
SUBJECT = frozenset(("code", "codes", "dtc", "dtcs", "fault", "faults"))
FILLER = SUBJECT | frozenset(
    "trouble diagnostic error errors any are is were was there found present set logged recorded in memory the this "  # noqa: SIM905
    "that system of list count number total on all control unit units module engine powertrain and or currently read "
    "from by scan tool now have has been".split()
)
NOTHING = frozenset(("no", "none", "0", "zero", "nil", "empty"))
