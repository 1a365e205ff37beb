"""What a shop's own file gives instead of the shipped: a number with its evidence, or words with their reason."""

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from comeback.kb.fields import as_tuple

Grounds = Annotated[str, Field(min_length=2, max_length=400)]
Parts = Annotated[tuple[Any, ...], BeforeValidator(as_tuple)]


class Revision(BaseModel):
    """One revised number, in the unit of its field (percent, cars per 1000, minutes, currency).

    `was`: the number that it was judged against. `base`: the one in the files that it stands in
    for now, filled in by the reader, as is `at`: file and line where the revision stands.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    value: float | str = Field(description="the number instead, in the unit of its field")
    evidence: Grounds = Field(description="what was counted or read, in words")
    source: str = Field(description="id of the source, see sources.yaml")
    was: float | str | None = Field(default=None, description="the number that was looked at when this one was made")
    at: str = ""
    base: float | None = None


class Change(BaseModel):
    """Revised words: a text or word given instead (`value`, with what it `was`), or parts of a list
    added and dropped. `reason` is needed where the change warns less; `at` as in `Revision`.

    `base` and `now`: what stood there and what stands there, as written, filled in by the reader.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    value: Any = Field(default=None, description="what stands there instead")
    was: Any = Field(default=None, description="what stood there when this was written")
    add: Parts = Field(default=(), description="what the list gets, at its end")
    drop: Parts = Field(default=(), description="what the list loses")
    reason: Grounds | None = Field(default=None, description="why, in words")
    evidence: Grounds | None = Field(default=None, description="what was seen or read, in words")
    source: str | None = Field(default=None, description="id of the source, see sources.yaml")
    at: str = ""
    base: Any = None
    now: Any = None
