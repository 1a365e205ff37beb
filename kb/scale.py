"""One verbal probability scale: the words that may stand for a percentage in the files."""

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BeforeValidator, PlainValidator, ValidationInfo

from comeback.kb.field_message import number_hint

Scale = Mapping[str, float]
"""Word -> percent, 0 to 100."""


def _chance(value: Any, info: ValidationInfo) -> float:
    """Percent or scale word -> probability 0 to 1. Raises ValueError naming the words allowed."""
    scale: Scale = (info.context or {}).get("scale", {})
    if isinstance(value, str):
        if value not in scale:
            hint = number_hint(value) or f"Use 0 to 100{' or: ' if scale else ''}{', '.join(scale)}"
            raise ValueError(f"'{value}' is not a percentage or a scale word. {hint}")
        value = scale[value]
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 100:
        raise ValueError(f"{value!r} is not a percentage. Write the share of cars from 0 to 100, as 35 or 2.5")
    return value / 100


def _shown(value: Any, info: ValidationInfo) -> float | dict[str, float]:
    """A chance, or chances by result. Raises ValueError naming the result that is wrong."""
    if not isinstance(value, dict):
        return _chance(value, info)
    out = {}
    for name, chance in value.items():
        try:
            out[str(name)] = _chance(chance, info)
        except ValueError as error:
            raise ValueError(f"{name}: {error}") from None
    return out


Percent = Annotated[float, BeforeValidator(_chance)]
"""A field that reads 0..100 or a scale word and holds a probability 0..1."""

Shown = Annotated[float | dict[str, float], PlainValidator(_shown)]
"""Like `Percent`, or a mapping of results to such."""
