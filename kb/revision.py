"""What a shop's own file changes: a number with its evidence, or words with their reason."""

from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from comeback.kb.fields import Frozen, as_tuple

Grounds = Annotated[str, Field(min_length=2, max_length=400)]
Parts = Annotated[tuple[Any, ...], BeforeValidator(as_tuple)]


class Revision(Frozen):
    """One revised number, in the unit of its field (percent, cars per 1000, minutes, currency).

    The reader fills in `base`, the number in the files that it replaces, and `at`, file and line of the revision.
    """

    value: float | str = Field(description="the new number, in the unit of its field")
    evidence: Grounds = Field(description="what was counted or read, in words")
    source: str = Field(description="id of the source, see sources.yaml")
    was: float | str | None = Field(default=None, description="the number in the files when this was written")
    at: str = ""
    base: float | None = None


class Change(Frozen):
    """Revised words: a new text or word (`value`), or parts of a list added and dropped.

    `reason` is required if the change warns less. The reader fills in `at`, as in `Revision`, and the old and the
    new words as written: `base` and `now`.
    """

    value: Any = Field(default=None, description="the new text")
    was: Any = Field(default=None, description="the text in the files when this was written")
    add: Parts = Field(default=(), description="what to add at the end of the list")
    drop: Parts = Field(default=(), description="what to drop from the list")
    reason: Grounds | None = Field(default=None, description="why, in words")
    evidence: Grounds | None = Field(default=None, description="what was seen or read, in words")
    source: str | None = Field(default=None, description="id of the source, see sources.yaml")
    at: str = ""
    base: Any = None
    now: Any = None
