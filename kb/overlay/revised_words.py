"""Texts, words and lists of an entry that a shop's own file revises; the whole entry is validated again.

complaints.rough-idle.words: {add: [shakes like a tractor]}
causes.duct-loose.tell: {value: The air pipe came off., was: The air pipe to the engine is not tight.}
"""

import json
from collections.abc import Mapping
from copy import deepcopy
from typing import Any

from pydantic import BaseModel

from comeback.kb.overlay.revised_numbers import NotRevisable, RevisedPlace
from comeback.kb.revision import Change
from comeback.kb.wording import suggest

_FIXED = {"id": "It names the entry.", "burden": "It weighs danger.", "harm": "It weighs danger."}
_NEW_KEYS = ("red_flag", "engine_off", "codes")
"""Fields that a result of the check may join which it was not in before."""
_FREE_KEYS = ("needs", "reports")
"""Fields that any check may join."""


def find_words(section: str, name: str, keys: tuple[str, ...], entry: BaseModel) -> RevisedPlace:
    """The words at `keys` below an entry. Raises NotRevisable with the names that there are."""
    path, held, results = f"{section}.{name}", entry, getattr(entry, "results", {})
    for i, key in enumerate(keys):
        known = _names(held)
        if isinstance(held, Mapping) and key not in held and keys[0] in _NEW_KEYS:
            known = list(results)
        free = isinstance(held, Mapping) and keys[0] in _FREE_KEYS
        if key not in known and not free:
            raise NotRevisable(f"There is no '{key}' in {path}.{suggest(key, known)}")
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
    """What stands there afterwards, and remarks on what has moved underneath. Raises NotRevisable."""
    whole = "value" in change.model_fields_set
    if not words.is_list and (change.add or change.drop):
        raise NotRevisable(f"'{words.path}' is not a list. Write `value:` and `was:`.")
    if whole == bool(change.add or change.drop):
        lists = ", or `add:` and `drop:`" if words.is_list else ""
        raise NotRevisable(f"Write what shall stand there: `value:` and `was:`{lists}.")
    if not whole:
        remarks = [f"There is no '{part}' to drop.{suggest(str(part), map(str, base))}" for part in change.drop
                   if part not in base]  # fmt: skip
        remarks += [f"'{part}' is in the list already. Leave it out here." for part in change.add if part in base]
        kept = [part for part in base if part not in change.drop]
        return kept + [part for part in change.add if part not in kept], remarks
    line = f"Write: was: {json.dumps(base, ensure_ascii=False)}"
    if change.was is None and base not in (None, [], ""):
        raise NotRevisable(f"Say what stands there now, so that a later change of it is noticed. {line}")
    moved = f"Something else stands there now than when this was written. Look at it again. {line}"
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
