"""Arguments, dispatch to a command, and errors turned into one clear line with an exit code.

Every module in `cli/commands` is a command: its docstring's first line is its help, and it has
`add_arguments(parser)` and `run(options) -> int`. They import what is slow inside `run`.
"""

import argparse
import importlib
import io
import os
import pkgutil
import shutil
import sys
import textwrap
from collections.abc import Collection, Sequence

from comeback.cli import commands, exit_codes
from comeback.cli.errors import UsageError

EPILOG = """\
examples:
  comeback call                   a customer is on the phone
  comeback triage K7RT            take over the call's case in the bay
  comeback triage                 start in the bay
  comeback chart rough-idle       print the chart of a complaint
  comeback check --overlay DIR    find mistakes in the shop's own files

Advice from what was reported, not an inspection. The maker's data, local codes
and licensed practice come first. Exit codes: comeback help exit-codes
"""


def command_names() -> list[str]:
    """Every module in `cli/commands`, in alphabetical order."""
    return sorted(module.name for module in pkgutil.iter_modules(commands.__path__))


def build_parser(only: Collection[str] | None = None) -> argparse.ArgumentParser:
    """The whole command line; with `only`, just these commands are imported and have their options.

    The first question and `--help` need not wait for commands that nobody asked for. For the same reason the help
    line of a command, the first line of its docstring, is read from the source.
    """
    parser = argparse.ArgumentParser(
        prog="comeback",
        description="Find out why a car came back after a routine engine service.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("-V", "--version", action="store_true", help="print the version and exit")
    subparsers = parser.add_subparsers(dest="command", metavar="COMMAND")
    for name in command_names():
        source = (pkgutil.get_data(commands.__name__, f"{name}.py") or b"").decode()
        subparser = subparsers.add_parser(
            name,
            help=source.removeprefix('"""').partition("\n")[0].rstrip('."'),
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        if only is None or name in only:
            module = importlib.import_module(f"comeback.cli.commands.{name}")
            subparser.description = (module.__doc__ or "").strip()
            module.add_arguments(subparser)
            subparser.set_defaults(run=module.run, parser=subparser)
    parser.set_defaults(parsers=subparsers.choices)
    return parser


def _open_streams() -> None:
    """Streams that are closed or in another encoding never stop the program. Raises OSError for closed output.

    Closed standard input is empty, closed standard error swallows what is said; input that is not in the
    terminal's encoding stays whole; characters it lacks show as `?`.
    """
    if sys.stdin is None:
        sys.stdin = open(os.devnull, encoding="utf-8")  # noqa: SIM115
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    if sys.stdout is None:
        raise OSError("standard output is closed, so nothing can be shown. Drop  >&-  or write to a file.")
    for stream, errors in ((sys.stdin, "surrogateescape"), (sys.stdout, "replace")):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=errors)


def _refuse_dashes(parser: argparse.ArgumentParser, arguments: Sequence[str]) -> None:
    """`--option=--` and `-o--`: argparse drops the two dashes and passes an empty list as the value."""
    for argument in arguments:
        if argument == "--":
            return
        option = argument.removesuffix("--").removesuffix("=")
        if argument.endswith("--") and (argument == f"{option}=--" or len(option) == 2) and option.startswith("-"):
            parser.error(f"argument {option}: '--' is not a value. For a file with that name: ./--")


def run(arguments: Sequence[str]) -> int:
    """Parse, run the command, and return its exit code; never a traceback for a user's mistake."""
    try:
        _open_streams()
    except OSError as error:
        return explain_error(error)
    completing = "_ARGCOMPLETE" in os.environ
    parser = build_parser(os.environ.get("COMP_LINE", "").split() if completing else arguments)
    if completing:  # the shell asks what may come next; this ends the program
        import argcomplete

        argcomplete.autocomplete(parser)
    _refuse_dashes(parser, arguments)
    options, unknown = parser.parse_known_args(arguments)
    if unknown:
        getattr(options, "parser", parser).error(f"unrecognized arguments: {' '.join(unknown)}")
    if options.command is None:
        parser.print_help()
        return exit_codes.USAGE
    from comeback.cli.signals import Stopped, caught

    try:
        return int(options.run(options))
    except KeyboardInterrupt:
        print("\nInterrupted. Every answer so far is saved.", file=sys.stderr)
        return exit_codes.INTERRUPTED
    except Stopped as stopped:
        caught()
        print(f"\n{stopped}", file=sys.stderr)
        return stopped.status
    except BrokenPipeError:
        sys.stderr.close()
        return exit_codes.FILES
    except Exception as error:  # the last resort: name it, keep the details on request
        return explain_error(error)


def explain_error(error: Exception) -> int:
    """Print what went wrong and what to do; return the exit code that documents it."""
    from comeback.cli.look import tell
    from comeback.cli.numbers import counted
    from comeback.engine.case_log.protocol import CaseLogError
    from comeback.engine.errors import EngineError
    from comeback.kb.problems import KnowledgeError

    if isinstance(error, KnowledgeError):
        tell(*(line for problem in error.problems for line in problem.lines), stream=sys.stderr)
        print(f"{counted(len(error.problems), 'problem')} in the knowledge files to fix first.", file=sys.stderr)
        return exit_codes.KNOWLEDGE
    told = str(error)
    if isinstance(error, OSError) and error.filename and error.strerror:  # without the system's number
        told = f"{error.filename}: {error.strerror}. Check the name and your permissions."
    width = shutil.get_terminal_size((80, 24)).columns - 1
    for line in f"comeback: {told}".split("\n"):  # too long for the terminal: never broken in a path or an option
        whole = not sys.stderr.isatty() or len(line) <= width
        wrapped = textwrap.wrap(line, max(20, width), break_long_words=False, break_on_hyphens=False)
        tell(*([line] if whole else wrapped), stream=sys.stderr)
    if isinstance(error, CaseLogError | OSError):
        return exit_codes.FILES
    if isinstance(error, EngineError | UsageError):
        return exit_codes.USAGE
    print(f"This should not happen ({type(error).__name__}). Every answer so far is saved.", file=sys.stderr)
    return exit_codes.UNEXPECTED
