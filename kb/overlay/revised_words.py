"""Texts, words and lists of an entry that a shop's own file revises; the whole entry is validated again.

complaints.rough-idle.words: {add: [shakes like a tractor]}
causes.duct-loose.tell: {value: The air pipe came off., was: The air pipe to the engine is not tight.}
"""

import json
from collections.abc import Iterable, Mapping
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError

from comeback.kb.overlay.revised_numbers import REVISABLE, NotRevisable
from comeback.kb.revision import Change
from comeback.kb.wording import field_message, suggest

_FIXED = {"id": "It names the entry.", "burden": "It weighs danger.", "harm": "It weighs danger."}
_NEW_KEYS = ("red_flag", "engine_off", "codes")
"""Fields that a result of the check may join which it was not in before."""
_FREE_KEYS = ("needs", "reports")
"""Fields that any check may join."""


@dataclass(frozen=True)
class WordsPlace:
    """A place in an entry that holds words: section, id, and the keys below it, field first."""

    section: str
    id: str
    keys: tuple[str, ...]
    is_list: bool

    @property
    def path(self) -> str:
        """The path by which a change names it."""
        return ".".join((self.section, self.id, *self.keys))


def find_words(section: str, name: str, keys: tuple[str, ...], entry: BaseModel) -> WordsPlace:
    """The words at `keys` below an entry. Raises NotRevisable with the names that there are."""
    path = ".".join((section, name))
    held: Any = entry
    for i, key in enumerate(keys):
        known = list(type(held).model_fields) if isinstance(held, BaseModel) else held
        if isinstance(known, Mapping) and key not in known and i and keys[0] in _NEW_KEYS:
            known = getattr(entry, "results", {})
        free = isinstance(known, Mapping) and keys[0] in _FREE_KEYS
        if not isinstance(known, Mapping | list) or (key not in known and not free):
            hint = suggest(key, known) if isinstance(known, Mapping | list) else ""
            raise NotRevisable(f"There is no '{key}' in {path}.{hint}")
        if key in _FIXED and i == 0:
            raise NotRevisable(f"'{key}' cannot be revised. {_FIXED[key]}")
        held = held.get(key, ()) if isinstance(held, Mapping) else getattr(held, key)
        path += f".{key}"
    if isinstance(held, BaseModel | Mapping) and keys[-1] != "only_if":
        raise NotRevisable(
            f"'{path}' holds several. Name one: {', '.join(f'{path}.{n}' for n in _below(held, entry))}."
        )
    is_list = isinstance(held, tuple) and keys[0] not in ("red_flag", "engine_off", "reports")
    return WordsPlace(section, name, keys, is_list)


def _below(held: BaseModel | Mapping[str, Any], entry: BaseModel) -> Iterable[str]:
    """What may be named below fields, results or checks that are given by name."""
    if isinstance(held, BaseModel):
        return type(held).model_fields
    return held or getattr(entry, "results", {}) or ("CHECK",)


def as_list(written: Any) -> list[Any]:
    """A list as it may be written: missing, one word alone, or several."""
    if written is None:
        return []
    return list(written) if isinstance(written, list | tuple) else [written]


def written_at(raw: Mapping[str, Any], words: WordsPlace) -> Any:
    """What the file says there now, None if nothing."""
    held: Any = raw
    for key in words.keys:
        held = held.get(key) if isinstance(held, Mapping) else None
    return deepcopy(as_list(held)) if words.is_list else deepcopy(held)


def changed(words: WordsPlace, change: Change, base: Any) -> tuple[Any, list[str]]:
    """What stands there afterwards, and remarks on what has moved underneath. Raises NotRevisable."""
    whole = "value" in change.model_fields_set
    if not words.is_list and (change.add or change.drop):
        raise NotRevisable(f"'{words.path}' is not a list. Write `value:` and `was:`.")
    if whole == bool(change.add or change.drop):
        lists = ", or `add:` and `drop:`" if words.is_list else ""
        raise NotRevisable(f"Write what shall stand there: `value:` and `was:`{lists}.")
    if not whole:
        return _list_changed(words, change, base)
    if change.was is None and base not in (None, [], ""):
        raise NotRevisable(f"Say what stands there now, so that a later change of it is noticed. {was_line(base)}")
    moved = f"Something else stands there now than when this was written. Look at it again. {was_line(base)}"
    return deepcopy(change.value), [] if _folded(change.was) == _folded(base) else [moved]


def was_line(base: Any) -> str:
    """The line to write for what stands there now."""
    return f"Write: was: {json.dumps(base, ensure_ascii=False)}"


def _list_changed(words: WordsPlace, change: Change, base: list[Any]) -> tuple[list[Any], list[str]]:
    remarks = [f"There is no '{part}' to drop.{suggest(str(part), map(str, base))}" for part in change.drop
               if part not in base]  # fmt: skip
    remarks += [f"'{part}' is in the list already. Leave it out here." for part in change.add if part in base]
    kept = [part for part in base if part not in change.drop]
    return kept + [part for part in change.add if part not in kept], remarks


def _folded(written: Any) -> Any:
    """Blanks and line breaks in texts do not count; one word alone is a list of one."""
    if isinstance(written, str):
        return " ".join(written.split())
    if isinstance(written, list | tuple):
        folded = [_folded(part) for part in written]
        return folded[0] if len(folded) == 1 else folded or ""
    if isinstance(written, Mapping):
        return {key: _folded(part) for key, part in written.items()}
    return written or ""  # nothing, no text and an empty list are all nothing


def write_words(raw: dict[str, Any], words: WordsPlace, value: Any) -> None:
    """Write the value into the entry's plain data; a value of nothing takes the key away."""
    held: Any = raw
    for key in words.keys[:-1]:
        held = held.setdefault(key, {})
    if value is None:
        held.pop(words.keys[-1], None)
    else:
        held[words.keys[-1]] = value


def validated(
    kind: type[BaseModel], name: str, raw: Mapping[str, Any], scale: Mapping[str, float]
) -> tuple[BaseModel | None, list[tuple[tuple[str, ...], str]]]:
    """The entry of that plain data, or None and (keys, message) of what does not fit."""
    try:
        return kind.model_validate({"id": name, **raw}, context={"scale": scale}), []
    except ValidationError as error:
        return None, [
            (tuple(map(str, detail["loc"])), field_message(detail, kind)) for detail in error.errors(include_url=False)
        ]


def is_number(section: str, keys: tuple[str, ...]) -> bool:
    """True if the field holds a number that is revised with its evidence."""
    return bool(keys) and (section, keys[0]) in REVISABLE


def nearest_place(keys: tuple[str, ...], places: Iterable[WordsPlace]) -> WordsPlace | None:
    """The place that begins `keys`, or that `keys` begin; the last of those given if there is none."""
    places = list(places)
    fits = (place for place in places if place.keys[: len(keys)] == keys or keys[: len(place.keys)] == place.keys)
    return next(fits, places[-1] if places else None)
