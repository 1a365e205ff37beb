"""A walk at the keyboard from a command's options: a call's first question at once, the rest while it is read.

Nothing slow is imported at the top: numpy, pydantic, the knowledge and the log's library load behind that question.
"""

import argparse
import os
import sys
from contextlib import closing
from importlib import import_module
from typing import TYPE_CHECKING

from comeback.cli import exit_codes, places, readers, signals
from comeback.cli.look import Look, Styled, aloud, look_of, show
from comeback.cli.prompt.log_opener import LogOpener
from comeback.cli.readers import ReadAhead, Reader, in_background
from comeback.cli.screens import wording
from comeback.engine.case_log.address import shown

if TYPE_CHECKING:
    from comeback.cli.config import Config
    from comeback.cli.prompt.session import PromptSession, ScreenState
    from comeback.kb.schema import KnowledgeBase


def run_walk(options: argparse.Namespace, audience: str, case: str | None) -> int:
    """A walk at the keyboard (or from a file) for one audience; a new case, or an old one resumed.

    Raises UsageError, OSError, CaseLogError, KnowledgeError.
    """
    config, file = None, places.config_file()
    if file is not None and os.path.lexists(file):  # without one, its reader costs no start-up time
        from comeback.cli.config import read_config

        config = read_config(file)
    plain = options.plain or (config is not None and config.plain) or bool(os.environ.get("COMEBACK_PLAIN"))
    reader = readers.choose_reader(options.answers, plain)
    look, log = look_of(sys.stdout, plain), LogOpener(places.log_place(options.log))
    if reader.interactive:
        signals.leave_in_order()
    with closing(log):
        if reader.interactive and audience == "phone" and case is None and not options.json:
            session, state = _begin_call(options, config, reader, look, log)
        else:
            session, state = _session(options, audience, config, reader, look, log)
        from comeback.cli.prompt.loop import run
        from comeback.cli.prompt.resume import go_on
        from comeback.cli.records.finding import case_id

        if case is not None:
            state = go_on(session, state, case_id(session.log(), case))
        code, state = run(session, state)
    if code not in (exit_codes.HUNG_UP, exit_codes.TERMINATED):
        finish(session, state, options.json, shown(log.place))
    return code


def _begin_call(
    options: argparse.Namespace, config: "Config | None", reader: Reader, look: Look, log: LogOpener
) -> "tuple[PromptSession, ScreenState]":
    """Ask the first question, and load what it does not need meanwhile; without a log its answer is not waited for."""
    from dataclasses import replace

    show(question_lines(look), look)
    loading, there = in_background(lambda: _session(options, "phone", config, reader, look, log)), log.there
    show(feet_lines(look), look)
    if there:
        from comeback.cli.prompt.resume import show_offers

        show_offers(*loading.result())
    ahead = reader if there else ReadAhead(reader)
    session, state = loading.result()
    return replace(session, reader=ahead), replace(state, due=False)


def _session(
    options: argparse.Namespace, audience_name: str, config: "Config | None", reader: Reader, look: Look, log: LogOpener
) -> "tuple[PromptSession, ScreenState]":
    """Load the knowledge and begin a walk. Raises KnowledgeError, NotStorable, OSError, UsageError."""
    from comeback.cli.config import Config
    from comeback.cli.options import knowledge_of, who_of
    from comeback.cli.prompt import loop  # noqa: F401  so that all that the answer needs is here
    from comeback.cli.prompt.session import PromptSession, ScreenState
    from comeback.cli.records.case_list import Offer, unfinished
    from comeback.engine.case_log.fields import LONGEST_SHORT, name_to_keep
    from comeback.engine.walk.walk import open_walk
    from comeback.kb.vocabulary import Audience, Level

    audience, config = Audience(audience_name), config or Config()
    knowledge = with_rate(knowledge_of(options), config.labor_rate)
    by = name_to_keep("by", who_of(options))
    name_to_keep("shop", config.shop)  # said now, not at the first answer
    car = name_to_keep("car", options.car, LONGEST_SHORT)

    def offers() -> list[Offer]:
        return unfinished(log(), knowledge, audience, by, places.now()) if log.there else []

    if reader.interactive:
        in_background(lambda: import_module("comeback.engine.case_log.store"))  # what opening the log will need
    session = PromptSession(
        reader, look, log, by, car, quiet=options.json, level=Level(config.level), units=config.units,
        shop=config.shop, offers=offers,
    )  # fmt: skip
    return session, ScreenState(open_walk(knowledge, audience))


def with_rate(knowledge: "KnowledgeBase", rate: float | None) -> "KnowledgeBase":
    """The knowledge with the shop's own labor rate, if the configuration gives one."""
    if rate is None:
        return knowledge
    settings = knowledge.settings.model_copy(update={"rate_per_hour": rate})
    return knowledge.model_copy(update={"settings": settings})


def finish(session: "PromptSession", state: "ScreenState", json: bool, place: str) -> None:
    """Print what came out of the walk: JSON if asked for, else the result screen; `place`: the log in words."""
    from comeback.cli.prompt.side_questions import goes_on

    walk = state.walk
    if state.opened and json:
        from comeback.cli.records.formats import rendered

        sys.stdout.write(rendered(walk.knowledge, walk.events, "json"))
    elif state.opened and not goes_on(session, state):
        from comeback.cli.screens.summary import result_lines

        show(result_lines(walk, session.look, place), session.look)


def question_lines(look: Look) -> list[Styled]:
    """The head of a new case, and the question read aloud."""
    return [("faint", look.rule), ("title", wording.NEW_CALL), *aloud(wording.DRIVING, look), ("plain", "")]


def feet_lines(look: Look) -> list[Styled]:
    """The keys that answer it, and those that work everywhere."""
    return [*look.styled("faint", wording.DRIVING_HINT), *look.styled("faint", wording.KEYS)]
