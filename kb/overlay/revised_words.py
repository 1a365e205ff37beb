"""Texts, words and lists of an entry that a shop's own file revises, and the lines to write for a revision.

complaints.rough-idle.words: {add: [shakes like a tractor]}
causes.duct-loose.tell: {value: The air pipe came off., was: The air pipe to the engine is not tight.}
"""

import json
from collections.abc import Iterator, Mapping
from copy import deepcopy
from typing import Any

from pydantic import BaseModel

from comeback.kb.overlay import revised_numbers as numbers
from comeback.kb.overlay.revised_numbers import NotRevisable, RevisedPlace
from comeback.kb.revision import Change
from comeback.kb.wording import suggest

_FIXED = {"id": "It names the entry.", "burden": "It weighs danger.", "harm": "It weighs danger."}
_NEW_KEYS = ("red_flag", "engine_off", "codes")
"""Fields that a result of the check may join which it was not in before."""
_FREE_KEYS = ("needs", "reports")
"""Fields that any check may join."""
MOST = 4
"""Fields for which the lines to write are shown; the others go the same way."""


def find_words(section: str, name: str, keys: tuple[str, ...], entries: numbers.Entries) -> RevisedPlace:
    """The words at `keys` below an entry. Raises NotRevisable with the names that there are."""
    path, held = f"{section}.{name}", entries[section][name]
    results = getattr(held, "results", {})
    for i, key in enumerate(keys):
        known = _names(held)
        if isinstance(held, Mapping) and key not in held and keys[0] in _NEW_KEYS:
            known = list(results)
        free = isinstance(held, Mapping) and keys[0] in _FREE_KEYS
        if key not in known and not free:
            raise NotRevisable(f"'{key}' is not in {path}.{suggest(key, known)}")
        if key in _FIXED and i == 0:
            raise NotRevisable(f"'{key}' cannot be revised. {_FIXED[key]}")
        held = held.get(key, ()) if isinstance(held, Mapping) else getattr(held, key)
        path += f".{key}"
    if isinstance(held, BaseModel | Mapping) and keys[-1] != "only_if":
        below = ", ".join(f"{path}.{name}" for name in _names(held) or results or ("CHECK",))
        raise NotRevisable(f"'{path}' holds several. Name one: {below}.")
    is_list = isinstance(held, tuple) and keys[0] not in ("red_flag", "engine_off", "reports")
    return RevisedPlace(section, name, keys, is_list=is_list)


def _names(held: Any) -> list[str]:
    """What may be named below fields, results or checks."""
    return list(type(held).model_fields if isinstance(held, BaseModel) else held if isinstance(held, Mapping) else ())


def as_list(written: Any) -> list[Any]:
    """A list as it may be written: missing, one word alone, or several."""
    if written is None:
        return []
    return list(written) if isinstance(written, list | tuple) else [written]


def written_at(raw: Mapping[str, Any], words: RevisedPlace) -> Any:
    """What the file says there now, None if nothing."""
    held: Any = raw
    for key in words.keys:
        held = held.get(key) if isinstance(held, Mapping) else None
    return deepcopy(as_list(held)) if words.is_list else deepcopy(held)


def changed(words: RevisedPlace, change: Change, base: Any) -> tuple[Any, list[str]]:
    """What is there afterwards, and remarks on what has moved underneath. Raises NotRevisable."""
    whole = "value" in change.model_fields_set
    if not words.is_list and (change.add or change.drop):
        raise NotRevisable(f"'{words.path}' is not a list. Write `value:` and `was:`.")
    if whole == bool(change.add or change.drop):
        lists = ", or `add:` and `drop:`" if words.is_list else ""
        raise NotRevisable(f"Write the new text: `value:` and `was:`{lists}.")
    if not whole:
        remarks = [f"'{part}' is not in the list.{suggest(str(part), map(str, base))}" for part in change.drop
                   if part not in base]  # fmt: skip
        remarks += [f"'{part}' is in the list already. Leave it out here." for part in change.add if part in base]
        kept = [part for part in base if part not in change.drop]
        return kept + [part for part in change.add if part not in kept], remarks
    line = f"Write: was: {json.dumps(base, ensure_ascii=False)}"
    if change.was is None and base not in (None, [], ""):
        raise NotRevisable(f"Say what the files say now, so that a later change is noticed. {line}")
    moved = f"The files have changed here since this was written. Look at it again. {line}"
    return deepcopy(change.value), [] if _folded(change.was) == _folded(base) else [moved]


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


def write_words(raw: dict[str, Any], words: RevisedPlace, value: Any) -> None:
    """Write the value into the entry's plain data; a value of nothing takes the key away."""
    held: Any = raw
    for key in words.keys[:-1]:
        held = held.setdefault(key, {})
    if value is None:
        held.pop(words.keys[-1], None)
    else:
        held[words.keys[-1]] = value


def lines_instead(
    section: str, name: str, given: Mapping[str, Any], known: Mapping[str, Any], entries: numbers.Entries
) -> str:
    """`revise:` lines for the fields in which `given` differs from `known`, both as written; "" if none does."""
    found = [lines for path, value in _leaves(given)
             if (lines := _lines(RevisedPlace(section, name, path), value, known, entries))]  # fmt: skip
    if not found:
        return ""
    more = [f"  # and {len(found) - MOST} more in the same way"] if len(found) > MOST else []
    return "\n".join(["revise:", *(line for lines in found[:MOST] for line in lines), *more])


def _leaves(given: Mapping[str, Any], path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:
    for key, value in given.items():
        if isinstance(value, Mapping):
            yield from _leaves(value, (*path, key))
        else:
            yield (*path, key), value


def _lines(place: RevisedPlace, value: Any, known: Any, entries: numbers.Entries) -> list[str]:
    """The lines that revise this field; none if it says the same, or cannot be revised."""
    known = written_at(known, place)
    if value == known or value is None:
        return []
    try:
        if (place.section, place.keys[0]) in numbers.REVISABLE:
            number = numbers.find_number(place.section, place.id, place.keys, entries)
            entry = entries[place.section][place.id]
            return number_lines(number.path, value, numbers.current_number(number, entry, entries))
        words = find_words(place.section, place.id, place.keys, entries)
    except NotRevisable:
        return []
    return words_lines(words, value, known)


def number_lines(path: str, value: Any, was: float) -> list[str]:
    """A number with all that belongs to it."""
    evidence = 'evidence: "what was counted or read"'
    return _written(path, [f"value: {value}", f"was: {was:g}", evidence, "source: judgement"])


def words_lines(words: RevisedPlace, value: Any, was: Any) -> list[str]:
    """A text with what it was, or what a list gets; nothing if the list has it all."""
    if words.is_list:
        new = [part for part in as_list(value) if part not in as_list(was)]
        return _written(words.path, [f"add: {json.dumps(new, ensure_ascii=False)}"]) if new else []
    fields = {"value": value} if was is None else {"value": value, "was": was}
    return _written(words.path, [f"{name}: {json.dumps(text, ensure_ascii=False)}" for name, text in fields.items()])


def dotted(path: str, below: Any) -> str:
    """The path that was meant where the parts of one were written below each other."""
    while isinstance(below, Mapping) and below:
        key = next(iter(below))
        if key in Change.model_fields:
            break
        path, below = f"{path}.{key}", below[key]
    return path


def _written(path: str, fields: list[str]) -> list[str]:
    return [f"  {path}:", *(f"    {field}" for field in fields)]
