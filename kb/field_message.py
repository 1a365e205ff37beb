"""What is wrong with one field, in the trainer's words: slips of typing first, then the general sentences."""

import re
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel

from comeback.kb.wording import plain_error

_COMMA = re.compile(r"[-+]?\d+,\d+\Z")
_WITH_UNIT = re.compile(r"([-+]?\d+(?:\.\d+)?) *(%|percent|min|minutes|in 1000)\Z")
_NUMBERS = ("float_type", "float_parsing", "int_type", "int_parsing")


def number_hint(value: Any) -> str:
    """The remedy for a number typed with a comma or its unit, as `Write 4.5, ...`; "" if it is neither."""
    text = value.strip() if isinstance(value, str) else ""
    if _COMMA.match(text):
        return f"Write a point, not a comma: {text.replace(',', '.')}"
    unit = _WITH_UNIT.match(text)
    return f"Write the number alone: {unit[1]}" if unit else ""


def field_message(detail: Mapping[str, Any], kind: type[BaseModel]) -> str:
    """One validator error of an entry of `kind` as a sentence with place and remedy."""
    at = ".".join(part for part in detail["loc"] if isinstance(part, str)) or "entry"
    given = detail.get("input")
    hint = number_hint(given) if detail["type"] in _NUMBERS else ""
    if hint:
        return f"{at}: '{given}' is not a number. {hint}."
    if detail["type"] == "string_too_short" and isinstance(given, str) and given.strip():
        least = detail["ctx"]["min_length"]
        return f"{at}: '{given}' is too short. Write it in words, at least {least} characters."
    return plain_error(detail, kind)
