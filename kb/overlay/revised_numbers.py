"""Single numbers that a shop's own file revises: which there are, their units, and how one is read and written."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from comeback.kb.wording import number_hint, suggest

PER_THOUSAND, PERCENT, MINUTES, MONEY, RATE = "cars per 1000", "percent", "minutes", "money", "money per hour"
REVISABLE: Mapping[tuple[str, str], str] = {
    ("causes", "frequency"): PER_THOUSAND,
    ("causes", "shows"): PERCENT,
    ("checks", "otherwise"): PERCENT,
    ("repairs", "removes"): PERCENT,
    ("repairs", "parts"): MONEY,
    ("settings", "rate_per_hour"): RATE,
    ("settings", "hand_over_minutes"): MINUTES,
    **{(section, "minutes"): MINUTES for section in ("checks", "repairs", "procedures", "set_ups", "panels")},
    ("settings", "visit_minutes"): MINUTES,
}
"""(section, field) that a revision may name -> unit of its numbers."""
_LIMITS = {PER_THOUSAND: 1000.0, PERCENT: 100.0, MINUTES: 2000.0, MONEY: 1e9, RATE: 1e9}
_NEVER_ZERO = (PER_THOUSAND, RATE)
HOW = "Write a path such as causes.ID.frequency, causes.ID.shows.CHECK.RESULT, checks.ID.say or complaints.ID.words."

Entries = dict[str, dict[str, Any]]


class NotRevisable(Exception):
    """The path names nothing that can be revised, or the value does not fit; the message says what is wrong."""


@dataclass(frozen=True)
class RevisedPlace:
    """A place in an entry: section, id (empty for settings), and the keys below it, field first.

    `unit`: of a number; empty for words. `is_list`: the words are a list.
    """

    section: str
    id: str
    keys: tuple[str, ...]
    unit: str = ""
    is_list: bool = False

    @property
    def path(self) -> str:
        """The path by which a revision names it."""
        return ".".join(part for part in (self.section, self.id, *self.keys) if part)


def find_number(section: str, name: str, keys: tuple[str, ...], entries: Entries) -> RevisedPlace:
    """The number at `keys` below an entry (`name` is empty for settings). Raises NotRevisable.

    A cause may show in a check, and a repair remove a cause, that it did not name before.
    """
    (field, *below), check = keys, name
    place = RevisedPlace(section, name, keys, REVISABLE[section, field])
    if place.unit is not PERCENT:
        if below:
            raise NotRevisable(f"'{place.path}' names nothing below '{field}'. {HOW}")
        return place
    if field == "removes":
        if len(below) != 1 or below[0] not in entries["causes"]:
            word = ".".join(below)
            raise NotRevisable(f"'{word}' is not in causes.{suggest(word, entries['causes'])}")
        return place
    if field == "shows":
        check, *below = below or [""]
        if check not in entries["checks"]:
            raise NotRevisable(f"'{check}' is not in checks.{suggest(check, entries['checks'])}")
    names = entries["checks"][check].names[1:]
    below = below or list(names[:1])
    if len(below) != 1 or below[0] not in names:
        word = ".".join(below)
        raise NotRevisable(f"Check '{check}' has no abnormal result '{word}'.{suggest(word, names)}")
    return replace(place, keys=(field, check, *below) if field == "shows" else (field, *below))


def number_given(given: float | str, unit: str, scale: Mapping[str, float], field: str = "value") -> float:
    """A number, or the one that a word of the scale stands for. Raises NotRevisable if it does not fit the unit.

    For `was`, which may be the 0 of what was not there, only words are refused.
    """
    if isinstance(given, str):
        if unit is not PERCENT or given not in scale:
            words = f" or one of: {', '.join(scale)}" if unit is PERCENT else ""
            hint = number_hint(given) or f"Write a number{words}"
            raise NotRevisable(f"{field}: '{given}' is no number. {hint}.")
        given = scale[given]
    high = _LIMITS[unit]
    if field != "was" and (not 0 <= given <= high or (unit in _NEVER_ZERO and given in (0, high))):
        raise NotRevisable(f"value: {given:g} is out of range. Write {unit} from 0 to {high:g}.")
    return given


def current_number(place: RevisedPlace, entry: Any, entries: Entries) -> float:
    """The number in the entry (or the settings), in the unit of its field; 0 for a chance that is not there."""
    held = getattr(entry, place.keys[0])
    if place.unit is not PERCENT:
        return float(held)
    if place.keys[0] == "shows":
        held = held.get(place.keys[1], {})
    if isinstance(held, int | float):
        held = {entries["checks"][place.keys[1]].names[1]: held}
    return round(100 * float(held.get(place.keys[-1], 0)), 9)
