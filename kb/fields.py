"""Kinds of fields that knowledge entries are made of: ids, lines of text, minutes, ordered words, conditions."""

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from comeback.kb.vocabulary import Disposition, Tier

Id = Annotated[str, Field(pattern=r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$", max_length=40)]
Line = Annotated[str, Field(min_length=2, max_length=400)]
Minutes = Annotated[float, Field(ge=0, le=2000)]


def as_tuple(value: Any) -> Any:
    """One word alone is a list of one."""
    return (value,) if isinstance(value, str) else value


def _ordered_word(kind: type[Disposition] | type[Tier]) -> Any:
    """Reads an ordered word (`come-in`) into its member, listing the words when it is not one."""

    def read(value: Any) -> Any:
        words = {member.name.lower().replace("_", "-"): member for member in kind}
        if isinstance(value, str) and value in words:
            return words[value]
        raise ValueError(f"{value!r} is not one of: {', '.join(words)}")

    return BeforeValidator(read)


Move = Annotated[Disposition, _ordered_word(Disposition)]
Rank = Annotated[Tier, _ordered_word(Tier)]
Ids = Annotated[tuple[Id, ...], BeforeValidator(as_tuple)]
Lines = Annotated[tuple[Line, ...], BeforeValidator(as_tuple)]
Words = Annotated[tuple[str, ...], BeforeValidator(as_tuple)]
Condition = Mapping[str, Words]
