"""Shell completion: what may come next on the command line, and scripts that ask for it."""

import argparse
from collections.abc import Sequence
from typing import Any

from comeback.cli.command_line import build_parser, command_modules

BASH = """\
_comeback() {
    local IFS=$'\\n'
    COMPREPLY=($(comeback completion words -- "${COMP_WORDS[@]:1:COMP_CWORD}" 2>/dev/null))
}
complete -o default -F _comeback comeback"""
ZSH = """\
_comeback() {
    local -a found
    found=("${(@f)$(comeback completion words -- "${(@)words[2,CURRENT]}" 2>/dev/null)}")
    [[ -n "$found" ]] && compadd -a found || _files
}
compdef _comeback comeback"""
FISH = """\
complete -c comeback -f -a '(comeback completion words -- (commandline -opc)[2..] (commandline -ct) 2>/dev/null)'
complete -c comeback -n '__fish_contains_opt -s o output answers log knowledge' -F"""
CASES = frozenset({"triage", "record"})
CASES_SHOWN = 200


def script(shell: str) -> str:
    """The script for bash, zsh or fish."""
    return {"bash": BASH, "zsh": ZSH, "fish": FISH}[shell]


def words(typed: Sequence[str]) -> list[str]:
    """What the last of the typed words may become; the ones before it are complete."""
    *before, last = typed or [""]
    if not before:
        return [name for name in (*command_modules(), "--help", "--version") if name.startswith(last)]
    command = next((word for word in before if not word.startswith("-")), "")
    if command not in command_modules():
        return []
    if last.startswith("-"):
        return [name for name in _options(command) if name.startswith(last)]
    found = [*_choices(command, before), *_ids(command, before)]
    return [name for name in found if name.lower().startswith(last.lower())]


def _subparser(command: str) -> argparse.ArgumentParser:
    actions: Any = build_parser()._actions
    found: argparse.ArgumentParser = next(
        a.choices[command] for a in actions if isinstance(a, argparse._SubParsersAction)
    )
    return found


def _options(command: str) -> list[str]:
    return sorted(o for a in _subparser(command)._actions if a.help != argparse.SUPPRESS for o in a.option_strings)


def _choices(command: str, before: Sequence[str]) -> list[str]:
    """Choices of the option just typed, else of the positional arguments."""
    actions = _subparser(command)._actions
    named = [a for a in actions if before[-1] in a.option_strings]
    if named:
        return [str(choice) for choice in named[0].choices or ()]
    return [str(c) for a in actions if not a.option_strings and a.choices for c in a.choices if c != "words"]


def _ids(command: str, before: Sequence[str]) -> list[str]:
    """Case ids, or names of entries, where the command takes them."""
    if command in CASES or before[-1] in ("--case", "show"):
        return _cases()
    if command in ("chart", "explain", "help"):
        from comeback.cli.commands.help import TOPICS
        from comeback.cli.places import cache_folder
        from comeback.kb.loader import load_knowledge

        if command == "help":
            return [*TOPICS, *command_modules()]
        knowledge = load_knowledge(cache=cache_folder())
        if before[-1] == "--service":
            return list(knowledge.services)
        extra = (*knowledge.causes, *knowledge.checks) if command == "explain" else ()
        return [*knowledge.complaints, *extra]
    return []


def _cases() -> list[str]:
    from comeback.cli.places import log_place
    from comeback.engine.case_log.protocol import CaseLogError
    from comeback.engine.case_log.store import open_log

    try:
        return [line.id for line in open_log(log_place(None)).cases()[:CASES_SHOWN]]
    except CaseLogError:
        return []
