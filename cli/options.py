"""Options that several commands share, and what they stand for."""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from comeback.kb.schema import KnowledgeBase


def add_knowledge(parser: argparse.ArgumentParser) -> None:
    """`--knowledge`: other files than the shipped ones."""
    parser.add_argument(
        "--knowledge",
        metavar="DIR",
        action="append",
        help="knowledge files to use instead of the shipped ones",
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


def knowledge_of(options: argparse.Namespace) -> "KnowledgeBase":
    """The knowledge that the options name. Raises KnowledgeError, OSError."""
    from comeback.cli.places import cache_folder
    from comeback.kb.loader import load_knowledge

    return load_knowledge(*(Path(folder) for folder in options.knowledge or ()), cache=cache_folder())


def run_walk(options: argparse.Namespace, audience_name: str, case: str | None) -> int:
    """A walk at the keyboard (or from a file) for one audience; a new case, or an old one gone on with."""
    from comeback.cli import places, wording
    from comeback.cli.conversation import Conversation, LogOpener
    from comeback.cli.look import look_of, show
    from comeback.cli.readers import choose_reader
    from comeback.engine.walk import Walk, open_walk
    from comeback.kb.vocabulary import Audience

    audience = Audience(audience_name)
    reader = choose_reader(options.answers, options.no_input)
    knowledge = knowledge_of(options)
    log = LogOpener(places.log_place(options.log))
    walk = open_walk(knowledge, audience)
    if case is not None:
        walk = Walk(knowledge, log().events(case.upper()), audience)
    look = look_of(sys.stdout, options.plain)
    conversation = Conversation(walk, reader, look, log, places.who(options.by), options.car, quiet=options.json)
    if case is not None:
        known = walk.events[-1].knowledge
        if known != knowledge.version and not options.json:
            show([("faint", wording.KNOWLEDGE_CHANGED.format(old=known, new=knowledge.version))], look)
        conversation.take_over()
    code = conversation.run()
    finish(conversation, options)
    return code


def finish(conversation: object, options: argparse.Namespace) -> None:
    """Print the record of the case: JSON if asked for, else text with the next command."""
    from comeback.cli.conversation import Conversation
    from comeback.cli.look import show
    from comeback.cli.records import case_data, case_lines

    assert isinstance(conversation, Conversation)
    walk = conversation.walk
    if walk.case.id in ("", "-"):
        return
    if options.json:
        import json

        print(json.dumps(case_data(walk.knowledge, walk.events), ensure_ascii=False, indent=1))
        return
    from comeback.engine.steps import Finished

    if isinstance(walk.step, Finished):
        show(case_lines(walk.knowledge, walk.events, conversation.look), conversation.look)
        if walk.step.how == "advised":
            show([("say", f"Next: the bay goes on with  comeback triage {walk.case.id}")], conversation.look)
