"""Options that several commands share, what they stand for, and what the shell may complete them to."""

import argparse
import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from comeback.cli import places
from comeback.cli.errors import UsageError

if TYPE_CHECKING:
    from comeback.engine.belief.network import Vehicle
    from comeback.kb.schema import KnowledgeBase

CASES_SHOWN = 200


def add_knowledge(parser: argparse.ArgumentParser) -> None:
    """`--knowledge`: other files than those that came with the program; `--overlay`."""
    parser.add_argument(
        "--knowledge", metavar="DIR", action="append", help="use these knowledge files, not those of the program"
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


def add_json(parser: argparse.ArgumentParser) -> None:
    """--json of a command that prints a report."""
    parser.add_argument("--json", action="store_true", help="print it as JSON, and nothing else")


def print_json(data: object) -> int:
    """A dataclass, or a list of them, as JSON; the exit code of a command that is done."""
    import json
    from dataclasses import asdict, is_dataclass

    from comeback.cli import exit_codes

    plain = asdict(data) if is_dataclass(data) and not isinstance(data, type) else data
    print(json.dumps(plain, indent=2, ensure_ascii=False, default=asdict))
    return exit_codes.DONE


def print_names(entries: "Mapping[str, Any]") -> None:
    """Id and name of each entry, a line each."""
    for name, entry in entries.items():
        print(f"{name:18} {entry.name}")


def add_vehicle(parser: argparse.ArgumentParser, example: str) -> None:
    """`--with`: what is known of the car; read by `vehicle_of`."""
    parser.add_argument(
        "--with", dest="vehicle", metavar="NAME=VALUE", nargs="+", action="extend", help=f"the car: {example}"
    )


def add_log(parser: argparse.ArgumentParser) -> None:
    """`--log`: where cases are kept."""
    parser.add_argument("--log", metavar="FILE", help="case log (default: COMEBACK_LOG, else the user's data folder)")


def add_by(parser: argparse.ArgumentParser) -> None:
    """`--by`: who is at the keyboard; read by `who_of`."""
    parser.add_argument("--by", metavar="NAME", help="your name (default: COMEBACK_BY, configuration, login name)")


def add_plain(parser: argparse.ArgumentParser) -> None:
    """`--plain`: no emphasis, no line editor."""
    parser.add_argument("--plain", action="store_true", help="plain text: no styling, one line after another")


def add_walk(parser: argparse.ArgumentParser) -> None:
    """Everything a walk takes beside its case."""
    add_knowledge(parser)
    add_log(parser)
    parser.add_argument("--car", default="", metavar="TEXT", help="the car as the customer names it")
    add_by(parser)
    parser.add_argument("--answers", metavar="FILE", help="take answers by id from a YAML file (- for standard input)")
    parser.add_argument("--json", action="store_true", help="print the case as JSON at the end, and nothing else")
    add_plain(parser)


def completed_by(action: argparse.Action, completer: Callable[..., Iterable[str]]) -> None:
    """Let the shell complete this argument with what `completer(**_)` returns."""
    vars(action)["completer"] = completer  # argcomplete looks for it; argparse does not declare it


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

        knowledge = load_knowledge(cache=places.cache_folder())
        return [name for kind in kinds for name in getattr(knowledge, kind)]

    return found


def who_of(given: argparse.Namespace) -> str:
    """Who is at the keyboard: `--by`, else COMEBACK_BY, else the configuration's, else the login name."""
    from comeback.cli.config import read_config

    return given.by or os.environ.get("COMEBACK_BY") or read_config().by or places.login_name()


def knowledge_of(options: argparse.Namespace) -> "KnowledgeBase":
    """The knowledge that the options name. Raises KnowledgeError, OSError."""
    from comeback.kb.loader import load_knowledge

    folders = [Path(folder) for folder in options.knowledge or ()]
    return load_knowledge(*folders, overlays=overlays_of(options, bool(folders)), cache=places.cache_folder())


def knowledge_read(options: argparse.Namespace) -> list[Path]:
    """The files that `knowledge_of` reads. Raises OSError, UsageError."""
    from comeback.kb.knowledge_folders import knowledge_files
    from comeback.kb.loader import shipped_folder

    folders = [Path(folder) for folder in options.knowledge or ()]
    return list(knowledge_files([*(folders or [shipped_folder()]), *overlays_of(options, bool(folders))]))


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
    said, where = [places.typed_folder(folder) for folder in variable.split(os.pathsep) if folder], "COMEBACK_OVERLAY"
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
