"""Messages about knowledge files in the trainer's words, not the validator's."""

from collections.abc import Iterable, Mapping
from typing import Any

from pydantic import BaseModel

from comeback.kb.nearest import nearest

_PLAIN = {
    "string_too_short": "{at}: the text is empty. Write it",
    "string_too_long": "{at}: the text is longer than {max_length} characters. Shorten it",
    "string_type": "{at}: {input!r} is not text. Put it in quotes",
    "int_type": "{at}: {input!r} is not a whole number",
    "float_type": "{at}: {input!r} is not a number",
    "float_parsing": "{at}: {input!r} is not a number",
    "greater_than": "{at}: {input!r} must be more than {gt}",
    "greater_than_equal": "{at}: {input!r} must be {ge} or more",
    "less_than": "{at}: {input!r} must be less than {lt}",
    "less_than_equal": "{at}: {input!r} must be {le} or less",
    "too_short": "{at}: give at least {min_length}",
    "too_long": "{at}: give at most {max_length}",
    "dict_type": "{at}: write names with values below it, as `name: value`",
    "mapping_type": "{at}: write names with values below it, as `name: value`",
    "tuple_type": "{at}: write a list, as [one, two]",
    "model_type": "{at}: write fields below it, as `name: value`",
    "enum": "{at}: {input!r} is not one of: {expected}",
    "string_pattern_mismatch": "{at}: {input!r} is not spelt right. Use small letters, digits and hyphens",
    "bool_parsing": "{at}: {input!r} must be true or false",
    "bool_type": "{at}: {input!r} must be true or false",
}


def plain_error(detail: Mapping[str, Any], kind: type[BaseModel]) -> str:
    """One validator error as a sentence that names the field and the remedy."""
    parts = [str(part) for part in detail["loc"] if part not in ("[key]",)]
    at = ".".join(parts) or "entry"
    what = detail["type"]
    if what == "missing":
        return f"The field '{at}' is missing. {_purpose(kind, parts)}Add it."
    if what == "extra_forbidden":
        return f"There is no field '{at}' here.{suggest(parts[-1], kind.model_fields)}"
    if what == "value_error":
        return f"{at + ': ' if parts else ''}{detail['ctx']['error']}."
    template = _PLAIN.get(what, "{at}: " + str(detail["msg"]))
    return template.format(at=at, input=detail.get("input"), **detail.get("ctx", {})) + "."


def _purpose(kind: type[BaseModel], parts: list[str]) -> str:
    known = kind.model_fields.get(parts[0]) if parts else None
    return f"It says: {known.description}. " if known and known.description else ""


def suggest(word: str, known: Iterable[str]) -> str:
    """`" Did you mean 'x'?"` for the nearest known word, or where to look; starts with a blank."""
    known = list(known)
    near = nearest(word, known)
    if near:
        return f" Did you mean '{near[0]}'?"
    return f" Use one of: {', '.join(sorted(known))}." if 0 < len(known) <= 12 else ""
