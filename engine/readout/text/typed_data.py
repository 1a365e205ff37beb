"""What a person types of a readout: codes, values with units, engine states -> `CarData`.

Words in any order: `P0171 p300 idle LTFT1=+18% MAP=52kPa 2500 LTFT1=3 key-on MAP=99 BARO=100`. A
state word holds for the values after it. Codes are the stored and pending ones and are the whole
list, as on the screen of the walk; `none` says that there is none.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from comeback.engine.errors import BadReading
from comeback.engine.readings import read_number
from comeback.engine.readout.protocol.car_data import CRANKING, FAST, KEY_ON, OTHER, STATES, CarData, Gathered
from comeback.engine.readout.protocol.parameters import BY_KEY, OTHER_NAMES
from comeback.engine.readout.protocol.trouble_codes import LISTED, PENDING, PERMANENT, STORED, TYPED, read_code
from comeback.engine.readout.text.code_text import mask_codes, read_code_line
from comeback.kb.nearest import nearest

_STATE_WORDS = {**dict(zip(STATES, STATES, strict=True)), "koeo": KEY_ON, "crank": CRANKING, "2500rpm": FAST}
_BESIDE_CODES = frozenset(
    ("and", "&", "+", "both", "stored", "pending", "confirmed", "history", "code", "codes", "dtc", "dtcs", "trouble",
     "fault", "faults")
)  # fmt: skip
"""Words that may stand beside codes and change nothing: the list is the stored and pending ones anyhow."""
_SHORT = re.compile(r"\b([PCBU]) ?(\d[0-9A-F]{2})\b", re.IGNORECASE)
"""A code without its zero: `P303`, `P 303`."""
_DENYING = frozenset(("no", "not", "cleared", "erased", "gone", "without", "never"))
_ONLY_THERE = "Type only the codes that are there now, stored or pending; none if there is none."


@dataclass
class TypedData:
    """The car data typed, and readings typed by the id of their check."""

    checks: dict[str, str] = field(default_factory=dict)
    got: Gathered = field(default_factory=Gathered)
    state: str = OTHER

    @property
    def data(self) -> CarData:
        """What was typed of the car, but for `checks`."""
        return self.got.done()


def read_typed(words: Sequence[str], checks: Iterable[str] = ()) -> TypedData:
    """What the words mean; `checks` are ids that take a reading. Raises BadReading naming the first word that fails."""
    typed, known = TypedData(), frozenset(checks)
    empty = read_code_line(" ".join(words)).empty
    if LISTED in empty or {STORED, PENDING} <= set(empty):  # `no codes`: the whole list
        typed.got.codes[TYPED] = {}
        return typed
    for word in words:
        for part in [word] if "=" in word else word.replace(",", " ").split():
            _word(typed, part.strip(), known)
    return typed


def _word(typed: TypedData, word: str, checks: frozenset[str]) -> None:
    lower = word.lower().rstrip(":")
    if "=" in word:
        _pair(typed, word, checks)
    elif lower in _STATE_WORDS:
        typed.state = _STATE_WORDS[lower]
    elif code := read_code(word):
        typed.got.codes.setdefault(TYPED, {})[code] = None
    elif lower in ("none", "no-codes"):
        typed.got.codes.setdefault(TYPED, {})
    elif lower in _DENYING:
        raise BadReading(f"'{word}': {_ONLY_THERE}")
    elif word and lower not in _BESIDE_CODES:
        raise BadReading(f"'{word}' is no code (P0171), value (MAP=52kPa) or engine state ({', '.join(STATES)}).")


def _pair(typed: TypedData, word: str, checks: frozenset[str]) -> None:
    name, _, text = word.partition("=")
    name = name.strip()
    key = OTHER_NAMES.get(name.upper(), name.upper())
    if key in BY_KEY:
        try:
            value = read_number(text, BY_KEY[key].unit)
        except BadReading as error:
            raise BadReading(f"{name}: {error}") from None
        if key.startswith("MIS"):
            typed.got.misfires[int(key[3:])] = max(0, round(value))
        else:
            earlier = [one for one in typed.got.values if one[:2] != (typed.state, key)]  # typed again: corrected
            typed.got.values = [*earlier, (typed.state, key, value)]
    elif name.lower() in checks:
        typed.checks[name.lower()] = text
    else:
        near = nearest(name.upper(), BY_KEY, most=2)
        hint = f" Did you mean {' or '.join(near)}?" if near else " List them: comeback readout --names."
        raise BadReading(f"'{name}' is no value that is known here.{hint}")


def code_list(text: str) -> tuple[str, ...] | None:
    """Codes typed as one list: `P0303, P0353`, `p303 and p0353 pending`. None if it is something else.

    Raises BadReading if a word denies or supposes a code, or a code is permanent only.
    """
    text = _SHORT.sub(r"\g<1>0\2", text)
    said = read_code_line(text)
    if said.denied:
        code, why = said.denied[0]
        raise BadReading(f"{code}: '{why}'. {_ONLY_THERE}")
    words = {*re.split(r"[\s,;/|()\[\].:]+", mask_codes(text).lower())}
    if not said.codes or words - _BESIDE_CODES - {PERMANENT, ""}:
        return None
    codes = tuple(dict.fromkeys(code for code, kind in said.codes if kind != PERMANENT))
    lasting = [code for code, _ in said.codes if code not in codes]
    if lasting:
        raise BadReading(f"{', '.join(lasting)}: a permanent code alone is not in this list. {_ONLY_THERE}")
    return codes
