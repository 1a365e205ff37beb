"""Options that several commands share, what they stand for, and what the shell may complete them to."""

import argparse
import json
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from comeback.cli import exit_codes, places
from comeback.cli.errors import UsageError

if TYPE_CHECKING:
    from comeback.engine.belief.network import Vehicle
    from comeback.kb.schema import KnowledgeBase

CASES_SHOWN = 200


def case_ids(**_: object) -> list[str]:
    """Ids of the newest cases, for the shell; none if the log cannot be read."""
    from comeback.engine.case_log.protocol import CaseLogError
    from comeback.engine.case_log.store import open_log

    try:
        return [line.id for line in open_log(places.log_place(None)).cases()[:CASES_SHOWN]]
    except CaseLogError:
        return []


def entry_ids(*kinds: str) -> Callable[..., list[str]]:
    """Ids of knowledge entries of these kinds, `complaints`, `causes`, `services` ..., for the shell."""

    def found(**_: object) -> list[str]:
        from comeback.kb.loader import load_knowledge

        knowledge = load_knowledge(cache=places.folder("cache"))
        return [name for kind in kinds for name in getattr(knowledge, kind)]

    return found


SERVICES = entry_ids("services")
SHARED: Mapping[str, Mapping[str, Any]] = {
    "--knowledge": {
        "metavar": "DIR", "action": "append", "help": "use these knowledge files, not those of the program",
    },
    "--overlay": {
        "metavar": "DIR", "action": "append",
        "help": "a shop's own files on top of them: more entries, revised numbers and words "
        "(default: COMEBACK_OVERLAY, else the configuration; '' for none)",
    },
    "--log": {"metavar": "FILE", "help": "case log (default: COMEBACK_LOG, else the user's data folder)"},
    "--by": {"metavar": "NAME", "help": "your name (default: COMEBACK_BY, configuration, login name)"},
    "--plain": {"action": "store_true", "help": "plain text: no styling, one line after another"},
    "--json": {"action": "store_true", "help": "print the result as JSON, and nothing else"},
    "--car": {"default": "", "metavar": "TEXT", "help": "the car as the customer names it"},
    "--answers": {"metavar": "FILE", "help": "take answers by id from a YAML file (- for standard input)"},
    "--with": {
        "dest": "vehicle", "metavar": "NAME=VALUE", "nargs": "+", "action": "extend",
        "help": "the car: injection=port air=speed-density",
    },
    "service": {"nargs": "?", "metavar": "SERVICE", "help": "the service that was done", "completer": SERVICES},
    "--service": {"metavar": "SERVICE", "help": "the service that was done", "completer": SERVICES},
    "--paper": {"choices": ("letter", "a4"), "default": "letter", "help": "paper size (default: letter)"},
    "--size": {
        "choices": ("normal", "wall"), "default": "normal",
        "help": "wall: 14 pt type on paper twice as large, tabloid or A3",
    },
    "--worksheet": {"action": "store_true", "help": "fields to write in: seen, time, by"},
    "--date": {"metavar": "DATE", "help": "date printed on every page (default: today)"},
}  # fmt: skip
"""Options and arguments by name -> what argparse is told of them; `completer`: what the shell may complete them to."""
KNOWLEDGE = ("--knowledge", "--overlay")
WALK = (*KNOWLEDGE, "--log", "--car", "--by", "--answers", "--json", "--plain")
PAPER = ("--service", "--paper", "--size", "--worksheet", "--date")


def add(parser: argparse.ArgumentParser, *names: str, **told: Any) -> None:
    """Add options of SHARED by name, or one of the command's own with what argparse is `told` of it."""
    for name in names:
        given = dict(told or SHARED[name])
        completer = given.pop("completer", None)
        action = parser.add_argument(name, **given)
        if completer is not None:
            vars(action)["completer"] = completer  # argcomplete looks for it; argparse does not declare it


def print_json(data: object) -> int:
    """A dataclass, or a list of them, as JSON; the exit code of a command that is done."""
    print(json.dumps(data, indent=2, ensure_ascii=False, default=asdict))
    return exit_codes.DONE


def print_names(entries: Mapping[str, Any]) -> None:
    """Id and name of each entry, a line each, the names below each other."""
    width = max(map(len, entries), default=0)
    for name, entry in entries.items():
        print(f"{name:{width}}  {entry.name}")


def who_of(given: argparse.Namespace) -> str:
    """The name of the person at the keyboard: `--by`, COMEBACK_BY, the configuration, or the login name."""
    from comeback.cli.config import read_config

    return given.by or os.environ.get("COMEBACK_BY") or read_config().by or places.login_name()


def knowledge_of(options: argparse.Namespace) -> "KnowledgeBase":
    """The knowledge that the options name. Raises KnowledgeError, OSError."""
    from comeback.kb.loader import load_knowledge

    folders, overlays = folders_of(options)
    return load_knowledge(*folders, overlays=overlays, cache=places.folder("cache"))


def folders_of(options: argparse.Namespace) -> tuple[list[Path], list[Path]]:
    """Folders of knowledge (none: the program's own) and of overlays. Raises OSError, UsageError."""
    folders = [Path(folder) for folder in options.knowledge or ()]
    return folders, overlays_of(options, bool(folders))


def knowledge_read(options: argparse.Namespace) -> list[Path]:
    """The files that `knowledge_of` reads. Raises OSError, UsageError."""
    from comeback.kb.knowledge_folders import knowledge_files
    from comeback.kb.loader import shipped_folder

    folders, overlays = folders_of(options)
    return list(knowledge_files([*(folders or [shipped_folder()]), *overlays]))


def overlays_of(options: argparse.Namespace, other_knowledge: bool = False) -> list[Path]:
    """Overlay folders: `--overlay`, else COMEBACK_OVERLAY, else the configuration's.

    The last two go with the program's own knowledge, so they do not count with `other_knowledge`.
    Raises UsageError that names where a folder was given that is not there.
    """
    from comeback.cli.config import read_config

    config = read_config()  # read even if not needed here: every command reports a mistake in it
    if options.overlay is not None:
        return [Path(folder) for folder in options.overlay if folder]
    if other_knowledge:
        return []
    variable = os.environ.get("COMEBACK_OVERLAY", "")
    said, where = (
        [Path(os.path.expanduser(folder)) for folder in variable.split(os.pathsep) if folder],
        "COMEBACK_OVERLAY",
    )
    file = places.config_file()
    if not said and file is not None:
        said, where = config.overlays(file), f"{file}: overlay"
    for folder in said:
        if not folder.exists():
            raise UsageError(f"{where} names {folder}, which does not exist. Correct it, or run without it: "
                             "--overlay ''")  # fmt: skip
    return said


def vehicle_of(pairs: Sequence[str] | None, knowledge: "KnowledgeBase | None" = None) -> "Vehicle":
    """Vehicle conditions typed as `injection=port`. Raises UsageError with the nearest name.

    With the `knowledge` that paper is made of, also for a kind of car that it says nothing about.
    """
    from comeback.kb.vocabulary import FEATURES
    from comeback.kb.wording import suggest

    found = {}
    for pair in pairs or ():
        feature, _, value = pair.partition("=")
        if feature not in FEATURES:
            raise UsageError(f"There is no vehicle condition '{feature or pair}'.{suggest(feature, FEATURES)}")
        if value not in FEATURES[feature]:
            raise UsageError(f"'{value}' is not a value of {feature}. Use one of: {', '.join(FEATURES[feature])}.")
        if knowledge is not None and value in knowledge.not_covered:
            name = knowledge.not_covered[value].name.lower()
            raise UsageError(f"Not covered: {name}. Leave out {pair}, and hand such a car to somebody who knows it.")
        found[feature] = value
    return tuple(sorted(found.items()))
