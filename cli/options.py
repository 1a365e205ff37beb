"""Options that several commands share, and what they stand for."""

import argparse
import os
import sys
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any

from comeback.cli import exit_codes

if TYPE_CHECKING:
    from comeback.cli.prompt.conversation import Conversation
    from comeback.engine.belief.network import Vehicle
    from comeback.kb.schema import KnowledgeBase
    from comeback.kb.vocabulary import Audience


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
        help="a shop's own files beside them: more entries, revised numbers and words "
        "(default: COMEBACK_OVERLAY, else the configuration; '' for none)",
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
    parser.add_argument("--plain", action="store_true", help="no emphasis, only lines one after the other")


def take_names(given: argparse.Namespace, knowledge: "KnowledgeBase") -> None:
    """Words for `--service` and `--complaint` become their ids. Raises UsageError if they mean none."""
    from comeback.cli.words.entries import complaint_named, service_named

    if given.service is not None:
        given.service = service_named(knowledge, given.service)
    if given.complaint is not None:
        given.complaint = complaint_named(knowledge, given.complaint)


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
            raise UsageError(f"{where} names {folder}, and there is no such folder. Correct it, or go on without: "
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
            raise UsageError(f"'{value}' is no {feature}. Use one of: {', '.join(FEATURES[feature])}.")
        found[feature] = value
    return tuple(sorted(found.items()))


def run_walk(options: argparse.Namespace, audience: "Audience", case: str | None) -> int:
    """A walk at the keyboard (or from a file) for one audience; a new case, or an old one gone on with."""
    from comeback.cli import places, signals
    from comeback.cli.config import read_config
    from comeback.cli.look import look_of
    from comeback.cli.prompt.conversation import Conversation
    from comeback.cli.prompt.log_opener import LogOpener
    from comeback.cli.prompt.readers import choose_reader
    from comeback.cli.prompt.unfinished import unfinished
    from comeback.engine.case_log.address import is_database, shown
    from comeback.engine.case_log.fields import LONGEST_SHORT, name_to_keep
    from comeback.engine.walk.walk import Walk, open_walk
    from comeback.kb.vocabulary import Level

    config = read_config()
    plain = options.plain or config.plain or bool(os.environ.get("COMEBACK_PLAIN"))
    reader = choose_reader(options.answers, options.no_input, plain)
    knowledge = with_rate(knowledge_of(options), config.labour_rate)
    place = places.log_place(options.log)
    log = LogOpener(place)
    by = name_to_keep("by", who_of(options))
    name_to_keep("shop", config.shop)  # said now, not at the first answer
    car = name_to_keep("car", options.car, LONGEST_SHORT)
    look = look_of(sys.stdout, plain)

    def offers() -> list[Any]:
        there = is_database(place) or Path(place).exists()
        return unfinished(log(), knowledge, audience, by, places.now()) if there else []

    walk = open_walk(knowledge, audience)
    conversation = Conversation(
        walk, reader, look, log, by, car, quiet=options.json, level=Level(config.level), units=config.units,
        opening=config.opening(), offers=offers,
    )  # fmt: skip
    if reader.interactive:
        signals.leave_in_order()
    with closing(log):
        if case is not None:
            conversation.walk = Walk(knowledge, log().events(case.upper()), audience)
            conversation.take_over()
        code = conversation.run()
    if code not in (exit_codes.HUNG_UP, exit_codes.TERMINATED):
        finish(conversation, options, shown(place))
    return code


def with_rate(knowledge: "KnowledgeBase", rate: float | None) -> "KnowledgeBase":
    """The knowledge with the shop's own labour rate, if the configuration gives one."""
    if rate is None:
        return knowledge
    settings = knowledge.settings.model_copy(update={"rate_per_hour": rate})
    return knowledge.model_copy(update={"settings": settings})


def finish(conversation: "Conversation", options: argparse.Namespace, place: str) -> None:
    """Print what came out of the walk: JSON if asked for, else the result screen with the next command.

    `place`: the log in words.
    """
    from comeback.engine.walk.steps import Finished

    walk = conversation.walk
    if walk.case.id in ("", "-"):
        return
    if options.json:
        from comeback.cli.records.data import record_data
        from comeback.cli.records.record import record_of
        from comeback.engine.safe_text import as_json

        print(as_json(record_data(record_of(walk.knowledge, walk.events)), indent=1))
    elif isinstance(walk.step, Finished) and conversation.ended:
        from comeback.cli.look import show
        from comeback.cli.screens.summary import result_lines

        show(result_lines(walk, conversation.look, place), conversation.look)
