"""Messages about knowledge files in the words of whoever writes them, not the validator's."""

import re
from collections.abc import Iterable, Mapping
from typing import Any

from pydantic import BaseModel

from comeback.kb.nearest import nearest

_COMMA = re.compile(r"[-+]?\d+,\d+\Z")
_WITH_UNIT = re.compile(r"([-+]?\d+(?:\.\d+)?) *(%|percent|min|minutes|in 1000)\Z")
_NOT_A_NUMBER = "{at}: {input!r} is not a number"
_NAMES_BELOW = "{at}: write names with values below it, as `name: value`"
_TRUE_OR_FALSE = "{at}: {input!r} must be true or false"
_PLAIN = {
    "string_too_long": "{at}: the text is longer than {max_length} characters. Shorten it",
    "string_type": "{at}: {input!r} is not text. Put it in quotes",
    "int_type": "{at}: {input!r} is not a whole number",
    "float_type": _NOT_A_NUMBER,
    "float_parsing": _NOT_A_NUMBER,
    "greater_than": "{at}: {input!r} must be more than {gt}",
    "greater_than_equal": "{at}: {input!r} must be {ge} or more",
    "less_than": "{at}: {input!r} must be less than {lt}",
    "less_than_equal": "{at}: {input!r} must be {le} or less",
    "too_short": "{at}: give at least {min_length}",
    "too_long": "{at}: give at most {max_length}",
    "dict_type": _NAMES_BELOW,
    "mapping_type": _NAMES_BELOW,
    "model_type": "{at}: write fields below it, as `name: value`",
    "tuple_type": "{at}: write a list, as [one, two]",
    "enum": "{at}: {input!r} is not one of: {expected}",
    "string_pattern_mismatch": "{at}: {input!r} is misspelled. Use small letters, digits and hyphens",
    "bool_parsing": _TRUE_OR_FALSE,
    "bool_type": _TRUE_OR_FALSE,
}


def number_hint(value: Any) -> str:
    """The remedy for a number typed with a comma or its unit, as `Write 4.5, ...`; "" if it is neither."""
    text = value.strip() if isinstance(value, str) else ""
    if _COMMA.match(text):
        return f"Write a point, not a comma: {text.replace(',', '.')}"
    unit = _WITH_UNIT.match(text)
    return f"Write the number alone: {unit[1]}" if unit else ""


def field_message(detail: Mapping[str, Any], kind: type[BaseModel]) -> str:
    """One validator error of an entry of `kind` as a sentence that names the field and the remedy."""
    parts = [str(part) for part in detail["loc"] if part != "[key]"]
    at, what, given = ".".join(parts) or "entry", detail["type"], detail.get("input")
    if what == "missing":
        known = kind.model_fields.get(parts[0]) if parts else None
        purpose = f"It says: {known.description}. " if known and known.description else ""
        return f"The field '{at}' is missing. {purpose}Add it."
    if what == "extra_forbidden":
        return f"Unknown field '{at}'.{suggest(parts[-1], kind.model_fields)}"
    if what == "value_error":
        return f"{at + ': ' if parts else ''}{detail['ctx']['error']}."
    if what.startswith(("float_", "int_")) and (hint := number_hint(given)):
        return f"{at}: '{given}' is not a number. {hint}."
    if what == "string_too_short":
        least = detail["ctx"]["min_length"]
        told = f"'{given}' is too short. Write it in words, at least {least} characters" if str(given).strip() else ""
        return f"{at}: {told or 'the text is empty. Write it'}."
    template = _PLAIN.get(what, "{at}: " + str(detail["msg"]))
    return template.format(at=at, input=given, **detail.get("ctx", {})) + "."


def suggest(word: str, known: Iterable[str]) -> str:
    """`" Did you mean 'x'?"` for the nearest known word, or the words there are; starts with a blank."""
    known = list(known)
    near = nearest(word, known)
    if near:
        return f" Did you mean '{near[0]}'?"
    return f" Use one of: {', '.join(sorted(known))}." if 0 < len(known) <= 12 else ""
