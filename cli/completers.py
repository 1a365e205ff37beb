"""What the shell may complete an argument to: case ids, and ids of knowledge entries; read only when it asks."""

import argparse
from collections.abc import Callable, Iterable

CASES_SHOWN = 200


def completed_by(action: argparse.Action, completer: Callable[..., Iterable[str]]) -> None:
    """Let the shell complete this argument with what `completer(**_)` returns."""
    vars(action)["completer"] = completer  # argcomplete looks for it; argparse does not declare it


def case_ids(**_: object) -> list[str]:
    """Ids of the newest cases; none if the log cannot be read."""
    from comeback.cli.places import log_place
    from comeback.engine.case_log.protocol import CaseLogError
    from comeback.engine.case_log.store import open_log

    try:
        return [line.id for line in open_log(log_place(None)).cases()[:CASES_SHOWN]]
    except CaseLogError:
        return []


def entry_ids(*kinds: str) -> Callable[..., list[str]]:
    """Ids of knowledge entries of these kinds, `complaints`, `causes`, `services` ..."""

    def found(**_: object) -> list[str]:
        from comeback.cli.places import cache_folder
        from comeback.kb.loader import load_knowledge

        knowledge = load_knowledge(cache=cache_folder())
        return [name for kind in kinds for name in getattr(knowledge, kind)]

    return found
