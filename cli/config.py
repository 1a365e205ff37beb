"""The user's configuration: `$XDG_CONFIG_HOME/comeback/config.toml`; flags and environment go before it."""

import os
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from comeback.cli.command_line import UsageError
from comeback.cli.text_files import read_text
from comeback.kb.wording import suggest

EXAMPLE = """\
shop = "Millrace Garage"   # printed on records
by = "Ida"                 # who is at the keyboard
labour_rate = 120          # per hour, instead of the knowledge's figure
units = "both"             # or "us", "metric": what a reading is also shown in
level = "technician"       # or "specialist": does repairs others hand over
plain = false              # true: only lines one after the other
overlay = "~/my-shop"      # own knowledge files, as --overlay; or a list"""
UNITS, LEVELS = ("both", "metric", "us"), ("technician", "specialist")


@dataclass(frozen=True)
class Config:
    """The shop's and the person's settings; `labour_rate` in currency per hour, None = the knowledge's.

    `overlay`: folders of the shop's own knowledge files; a relative one is looked for beside the file.
    """

    shop: str = ""
    by: str = ""
    labour_rate: float | None = None
    units: str = "both"
    level: str = "technician"
    plain: bool = False
    overlay: tuple[Path, ...] = ()

    def opening(self) -> dict[str, object]:
        """What the first event of a case says of the shop: learning counts by it, and records print the rate."""
        said: dict[str, object] = {"shop": self.shop} if self.shop else {}
        return said | ({"labour_rate": self.labour_rate} if self.labour_rate else {})


def config_file() -> Path:
    """Where the configuration is looked for; relative XDG values are invalid by the standard."""
    given = os.environ.get("XDG_CONFIG_HOME", "")
    base = Path(given) if os.path.isabs(given) else Path.home() / ".config"
    return base / "comeback" / "config.toml"


def read_config(file: Path | None = None) -> Config:
    """The configuration; all defaults if there is no file. Raises UsageError that names file, key and remedy."""
    file = file or config_file()
    try:
        text = read_text(str(file))
    except (FileNotFoundError, NotADirectoryError):
        return Config()
    import tomllib  # nearly nobody has a file: its absence costs no start-up time

    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise UsageError(f"{file}: this is not TOML: {error}. See: comeback help config") from None
    known = [entry.name for entry in fields(Config)]
    for key, value in data.items():
        if key not in known:
            raise UsageError(f"{file}: there is no setting '{key}'.{suggest(key, known)}")
        _check(file, key, value)
    if "overlay" in data:
        given = [data["overlay"]] if isinstance(data["overlay"], str) else data["overlay"]
        data["overlay"] = tuple(file.parent / Path(folder).expanduser() for folder in given if folder)
    return Config(**data)


def _check(file: Path, key: str, value: Any) -> None:
    if key == "labour_rate":
        good = isinstance(value, int | float) and not isinstance(value, bool) and value > 0
        wanted = "a number above 0"
    elif key == "plain":
        good, wanted = isinstance(value, bool), "true or false"
    elif key in ("units", "level"):
        choices = UNITS if key == "units" else LEVELS
        good, wanted = value in choices, " or ".join(f'"{choice}"' for choice in choices)
    elif key == "overlay":
        several = isinstance(value, list) and all(isinstance(folder, str) for folder in value)
        good, wanted = several or isinstance(value, str), 'a folder in quotes, or several: ["one", "two"]'
    else:
        good, wanted = isinstance(value, str), "text in quotes"
    if not good:
        raise UsageError(f"{file}: {key} = {value!r} is not possible. Write {wanted}.")
