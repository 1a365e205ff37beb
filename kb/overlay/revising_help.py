"""An entry given a second time in an overlay: the lines to write instead, made from what was written."""

import json
from collections.abc import Iterator, Mapping
from typing import Any

from comeback.kb.overlay.revised_numbers import (
    REVISABLE,
    Entries,
    NotRevisable,
    RevisedPlace,
    current_number,
    find_number,
)
from comeback.kb.overlay.revised_words import as_list, find_words
from comeback.kb.revision import Change

MOST = 4
"""Fields that are shown; who changes more sees how it goes by then."""


def lines_instead(section: str, name: str, given: Mapping[str, Any], known: Mapping[str, Any], entries: Entries) -> str:
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


def _lines(place: RevisedPlace, value: Any, known: Any, entries: Entries) -> list[str]:
    for key in place.keys:
        known = known.get(key) if isinstance(known, Mapping) else None
    if value == known or value is None:
        return []
    try:
        if (place.section, place.keys[0]) in REVISABLE:
            number = find_number(place.section, place.id, place.keys, entries)
            return number_lines(number.path, value, current_number(number, entries, None))
        words = find_words(place.section, place.id, place.keys, entries[place.section][place.id])
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
