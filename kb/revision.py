"""A number that a shop's own file gives instead of the shipped one, with the evidence for it."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Grounds = Annotated[str, Field(min_length=2, max_length=400)]


class Revision(BaseModel):
    """One revised number, in the unit of its field (percent, cars per 1000, minutes, currency).

    `was`: the number that it was judged against. `base`: the one in the files that it stands in
    for now, filled in by the reader, as is `at`: file and line where the revision stands.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    value: float | str = Field(description="the number instead, in the unit of its field")
    evidence: Grounds = Field(description="what was counted or read, in words")
    source: str = Field(description="id of the source, see sources.yaml")
    was: float | None = Field(default=None, description="the number that was looked at when this one was made")
    at: str = ""
    base: float | None = None
