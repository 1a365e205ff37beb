"""Options that several commands share, and what they stand for."""

import argparse
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from comeback.engine.belief.network import Vehicle
    from comeback.kb.schema import KnowledgeBase


def add_knowledge(parser: argparse.ArgumentParser) -> None:
    """`--knowledge`: other files than the shipped ones."""
    parser.add_argument(
        "--knowledge",
        metavar="DIR",
        action="append",
        help="knowledge files to use instead of the shipped ones",
    )
    add_overlay(parser)


def add_overlay(parser: argparse.ArgumentParser) -> None:
    """`--overlay`: a shop's own files beside the others."""
    parser.add_argument(
        "--overlay",
        metavar="DIR",
        action="append",
        help="a shop's own files on top of them: more entries, revised numbers and words "
        "(default: COMEBACK_OVERLAY, else the configuration; '' for none)",
    )


def add_vehicle(parser: argparse.ArgumentParser, example: str) -> None:
    """`--with`: what is known of the car; read by `vehicle_of`."""
    parser.add_argument(
        "--with", dest="vehicle", metavar="NAME=VALUE", nargs="+", action="extend", help=f"the car: {example}"
    )


def add_log(parser: argparse.ArgumentParser) -> None:
    """`--log`: where cases are kept."""
    parser.add_argument("--log", metavar="FILE", help="case log (default: COMEBACK_LOG, else the user's data folder)")


def add_walk(parser: argparse.ArgumentParser) -> None:
    """Everything a walk takes beside its case."""
    add_knowledge(parser)
    add_log(parser)
    parser.add_argument("--car", default="", metavar="TEXT", help="the car as the customer names it")
    parser.add_argument(
        "--by", metavar="NAME", help="who is at the keyboard (default: COMEBACK_BY, else the login name)"
    )
    parser.add_argument("--answers", metavar="FILE", help="take answers by id from a YAML file (- for standard input)")
    parser.add_argument("--no-input", action="store_true", help="never ask; needs --answers")
    parser.add_argument("--json", action="store_true", help="print the case as JSON at the end, and nothing else")
    parser.add_argument("--plain", action="store_true", help="plain text: no styling, one line after another")


def who_of(given: argparse.Namespace) -> str:
    """Who is at the keyboard: `--by`, else COMEBACK_BY, else the configuration's, else the login name."""
    from comeback.cli import places
    from comeback.cli.config import read_config

    return places.who(given.by or os.environ.get("COMEBACK_BY") or read_config().by or None)


def knowledge_of(options: argparse.Namespace) -> "KnowledgeBase":
    """The knowledge that the options name. Raises KnowledgeError, OSError."""
    from comeback.cli.places import cache_folder
    from comeback.kb.loader import load_knowledge

    folders = [Path(folder) for folder in options.knowledge or ()]
    return load_knowledge(*folders, overlays=overlays_of(options, bool(folders)), cache=cache_folder())


def knowledge_read(options: argparse.Namespace) -> list[Path]:
    """The files that `knowledge_of` reads. Raises OSError, UsageError."""
    from comeback.kb.knowledge_folders import knowledge_files
    from comeback.kb.loader import shipped_folder

    folders = [Path(folder) for folder in options.knowledge or ()]
    return list(knowledge_files([*(folders or [shipped_folder()]), *overlays_of(options, bool(folders))]))


def overlays_of(options: argparse.Namespace, other_knowledge: bool = False) -> list[Path]:
    """Overlay folders: `--overlay`, else COMEBACK_OVERLAY, else the configuration's.

    The last two stand beside the shipped knowledge, so they do not count with `other_knowledge`.
    Raises UsageError that names where a folder was given that is not there.
    """
    from comeback.cli import places
    from comeback.cli.config import read_config
    from comeback.cli.errors import UsageError

    given = getattr(options, "overlay", None)
    config = read_config()  # read even if not needed here: a mistake in it is told by every command
    if given is not None:
        return [Path(folder) for folder in given if folder]
    if other_knowledge:
        return []
    variable = os.environ.get("COMEBACK_OVERLAY", "")
    said, where = [places.typed_folder(folder) for folder in variable.split(os.pathsep) if folder], "COMEBACK_OVERLAY"
    file = places.config_file()
    if not said and file is not None:
        said, where = config.overlays(file), f"{file}: overlay"
    for folder in said:
        if not folder.exists():
            raise UsageError(f"{where} names {folder}, which does not exist. Correct it, or run without it: "
                             "--overlay ''")  # fmt: skip
    return said


def vehicle_of(pairs: Sequence[str] | None) -> "Vehicle":
    """Vehicle conditions typed as `injection=port`. Raises UsageError with the nearest name."""
    from comeback.cli.errors import UsageError
    from comeback.kb.vocabulary import FEATURES
    from comeback.kb.wording import suggest

    found = {}
    for pair in pairs or ():
        feature, _, value = pair.partition("=")
        if feature not in FEATURES:
            raise UsageError(f"There is no vehicle condition '{feature or pair}'.{suggest(feature, FEATURES)}")
        if value not in FEATURES[feature]:
            raise UsageError(f"'{value}' is not a value of {feature}. Use one of: {', '.join(FEATURES[feature])}.")
        found[feature] = value
    return tuple(sorted(found.items()))
