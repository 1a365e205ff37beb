"""The user's configuration, a TOML file at `places.config_file()`; flags and environment go before it."""

import os
import reprlib
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from comeback.cli import places
from comeback.cli.errors import UsageError
from comeback.kb.knowledge_folders import read_regular
from comeback.kb.wording import suggest

EXAMPLE = """\
shop = "Millrace Garage"   # printed on records
by = "Ida"                 # who is at the keyboard
labor_rate = 120          # per hour, instead of the knowledge's figure
units = "both"             # or "us"; "metric": a number without unit is metric
level = "technician"       # or "specialist": does repairs others hand over
plain = false              # true: only lines one after the other
overlay = "~/my-shop"      # own knowledge files, as --overlay; or a list"""
MOST_BYTES = 1_000_000
MOST_RATE = 1e9


class Config(BaseModel):
    """The shop's and the person's settings; `labor_rate` in currency per hour, None = the knowledge's.

    `overlay`: folders of the shop's own knowledge files; a relative one is looked for beside the file.
    Descriptions are what an error message asks for.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)
    shop: str = Field(default="", description="text in quotes")
    by: str = Field(default="", description="text in quotes")
    labor_rate: float | None = Field(
        default=None, gt=0, le=MOST_RATE, allow_inf_nan=False, description=f"a number above 0, at most {MOST_RATE:,.0f}"
    )
    units: Literal["both", "metric", "us"] = Field(default="both", description='"both" or "metric" or "us"')
    level: Literal["technician", "specialist"] = Field(default="technician", description='"technician" or "specialist"')
    plain: bool = Field(default=False, description="true or false")
    overlay: str | list[str] = Field(default=[], description='a folder in quotes, or several: ["one", "two"]')

    def overlays(self, file: Path) -> list[Path]:
        """The folders that `overlay` names in this file."""
        given = [self.overlay] if isinstance(self.overlay, str) else self.overlay
        return [file.parent / os.path.expanduser(folder) for folder in given if folder]


def read_config(file: Path | None = None) -> Config:
    """The configuration; all defaults if there is no file. Raises UsageError that names file, key and remedy; OSError.

    OSError is for a file that cannot be read or is none, as a pipe.
    """
    file = file or places.config_file()
    try:
        data = read_regular(file, MOST_BYTES) if file is not None else b""
    except (FileNotFoundError, NotADirectoryError):
        return Config()
    if not data:
        return Config()
    import tomllib  # nearly nobody has a file: its absence costs no start-up time

    try:
        return Config.model_validate(tomllib.loads(data.decode("utf-8-sig")))
    except ValidationError as error:
        first: Any = error.errors(include_url=False)[0]
        key, known = str(first["loc"][0]), Config.model_fields
        if key not in known:
            raise UsageError(f"{file}: there is no setting '{key}'.{suggest(key, known)}") from None
        given = reprlib.repr(first["input"])
        raise UsageError(f"{file}: {key} = {given} is not valid. Write {known[key].description}.") from None
    except (ValueError, RecursionError) as error:  # what is no UTF-8, no TOML, nested deep, or 5000 digits long
        raise UsageError(f"{file}: this is not TOML: {error}. See: comeback help config") from None
