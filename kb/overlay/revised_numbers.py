"""Single numbers that a shop's own file revises: which there are, their units, and how one is read and written."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from comeback.kb.schema import Settings
from comeback.kb.wording import number_hint, suggest

PER_THOUSAND, PERCENT, MINUTES, MONEY, RATE = "cars per 1000", "percent", "minutes", "money", "money per hour"
REVISABLE: Mapping[tuple[str, str], str] = {
    ("causes", "frequency"): PER_THOUSAND,
    ("causes", "shows"): PERCENT,
    ("checks", "otherwise"): PERCENT,
    ("checks", "minutes"): MINUTES,
    ("repairs", "removes"): PERCENT,
    ("repairs", "minutes"): MINUTES,
    ("repairs", "parts"): MONEY,
    ("procedures", "minutes"): MINUTES,
    ("set_ups", "minutes"): MINUTES,
    ("panels", "minutes"): MINUTES,
    ("settings", "rate_per_hour"): RATE,
    ("settings", "hand_over_minutes"): MINUTES,
}
"""(section, field) that a revision may name -> unit of its numbers."""
_LIMITS = {PER_THOUSAND: (0.0, 1000.0), PERCENT: (0.0, 100.0), MINUTES: (0.0, 2000.0), MONEY: (0.0, 1e9)}
_LIMITS[RATE] = (0.0, 1e9)
_NEVER_ZERO = (PER_THOUSAND, RATE)
HOW = "Write a path such as causes.ID.frequency, causes.ID.shows.CHECK.RESULT, checks.ID.say or complaints.ID.words."

Entries = dict[str, dict[str, Any]]


class NotRevisable(Exception):
    """The path names nothing that can be revised, or the value does not fit; the message says what is wrong."""


@dataclass(frozen=True)
class NumberPlace:
    """A place in an entry that holds a number: section, id (empty for settings), field, names below it."""

    section: str
    id: str
    field: str
    below: tuple[str, ...]
    unit: str

    @property
    def keys(self) -> tuple[str, ...]:
        """The path in parts."""
        return tuple(part for part in (self.section, self.id, self.field, *self.below) if part)

    @property
    def path(self) -> str:
        """The path by which a revision names it."""
        return ".".join(self.keys)


def find_number(section: str, name: str, parts: tuple[str, ...], entries: Entries) -> NumberPlace:
    """The number at `parts` below an entry (`name` is empty for settings). Raises NotRevisable.

    A cause may show in a check, and a repair remove a cause, that it did not name before.
    """
    number = NumberPlace(section, name, parts[0], parts[1:], REVISABLE[section, parts[0]])
    if number.unit is PERCENT:
        return _percent_place(number, entries)
    if number.below:
        raise NotRevisable(f"'{number.path}' names nothing below '{number.field}'. {HOW}")
    return number


def _percent_place(number: NumberPlace, entries: Entries) -> NumberPlace:
    below, word = number.below, ".".join(number.below)
    if number.field == "removes":
        if len(below) != 1 or below[0] not in entries["causes"]:
            raise NotRevisable(f"There is no '{word}' in causes.{suggest(word, entries['causes'])}")
        return number
    check = number.id
    if number.field == "shows":
        word = below[0] if below else ""
        if word not in entries["checks"]:
            raise NotRevisable(f"There is no '{word}' in checks.{suggest(word, entries['checks'])}")
        check, below = word, below[1:]
    names = entries["checks"][check].names[1:]
    below = below or names[:1]
    if len(below) != 1 or below[0] not in names:
        word = ".".join(below)
        raise NotRevisable(f"Check '{check}' has no abnormal result '{word}'.{suggest(word, names)}")
    place = (check, *below) if number.field == "shows" else below
    return NumberPlace(number.section, number.id, number.field, place, number.unit)


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
    low, high = _LIMITS[unit]
    if field == "was":
        return given
    if not low <= given <= high or (unit in _NEVER_ZERO and given in (low, high)):
        raise NotRevisable(f"value: {given:g} is out of range. Write {unit} from {low:g} to {high:g}.")
    return given


def current_number(number: NumberPlace, entries: Entries, settings: Settings | None) -> float:
    """The number as it stands, in the unit of its field; 0 for a chance that is not there."""
    if number.section == "settings":
        return float(getattr(settings, number.field)) if settings is not None else 0.0
    held = getattr(entries[number.section][number.id], number.field)
    if number.unit is not PERCENT:
        return float(held)
    return round(100 * _by_name(number, held, entries).get(number.below[-1], 0.0), 9)


def total(number: NumberPlace, entries: Entries) -> float:
    """Sum of the chances that stand beside a revised one and share its hundred percent."""
    if number.unit is not PERCENT or number.field == "removes":
        return 0.0
    return sum(_by_name(number, getattr(entries[number.section][number.id], number.field), entries).values())


def _by_name(number: NumberPlace, held: Any, entries: Entries) -> dict[str, float]:
    if number.field != "shows":
        return dict(held)
    shown = held.get(number.below[0], {})
    first = entries["checks"][number.below[0]].names[1]
    return {first: shown} if isinstance(shown, int | float) else dict(shown)


def write_number(number: NumberPlace, value: float, entries: Entries) -> None:
    """Put the value into the entry (not for settings)."""
    entry: BaseModel = entries[number.section][number.id]
    held = getattr(entry, number.field)
    new: Any = value
    if number.unit is PERCENT:
        new = {**_by_name(number, held, entries), number.below[-1]: value / 100}
        if number.field == "shows":
            new = {**held, number.below[0]: new}
    entries[number.section][number.id] = entry.model_copy(update={number.field: new})
