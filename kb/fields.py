"""Kinds of fields in knowledge entries: ids, lines of text, minutes, chances, ordered words, conditions."""

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainValidator, ValidationInfo

from comeback.kb.vocabulary import Disposition, Tier
from comeback.kb.wording import number_hint


class Frozen(BaseModel):
    """Base of everything that is read from the files: an unknown field is an error, and nothing changes later."""

    model_config = ConfigDict(extra="forbid", frozen=True)


def as_tuple(value: Any) -> Any:
    """One word alone is a list of one."""
    return (value,) if isinstance(value, str) else value


def _ordered_word(kind: type[Disposition] | type[Tier]) -> Any:
    """Reads an ordered word (`come-in`) into its member, listing the words if it is not one."""

    def read(value: Any) -> Any:
        words = {member.name.lower().replace("_", "-"): member for member in kind}
        if isinstance(value, str) and value in words:
            return words[value]
        raise ValueError(f"{value!r} is not one of: {', '.join(words)}")

    return BeforeValidator(read)


def _chance(value: Any, info: ValidationInfo) -> float:
    """Percent or scale word -> probability 0 to 1. Raises ValueError naming the words allowed."""
    scale: Mapping[str, float] = (info.context or {}).get("scale", {})
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


Id = Annotated[str, Field(pattern=r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$", max_length=40)]
Line = Annotated[str, Field(min_length=2, max_length=400)]
Minutes = Annotated[float, Field(ge=0, le=2000)]
Move = Annotated[Disposition, _ordered_word(Disposition)]
Rank = Annotated[Tier, _ordered_word(Tier)]
Ids = Annotated[tuple[Id, ...], BeforeValidator(as_tuple)]
Lines = Annotated[tuple[Line, ...], BeforeValidator(as_tuple)]
Words = Annotated[tuple[str, ...], BeforeValidator(as_tuple)]
Condition = Mapping[str, Words]
Percent = Annotated[float, BeforeValidator(_chance)]
"""A field that reads 0..100 or a word of the files' probability scale, and stores a probability 0..1."""
Shown = Annotated[float | dict[str, float], PlainValidator(_shown)]
"""Like `Percent`, or a mapping of results to such."""
