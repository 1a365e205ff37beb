"""How people reach it: the command `comeback` and the prompt."""

import os
import sys

from comeback.cli.version import VERSION


def main(arguments: list[str] | None = None) -> int:
    """Entry point. Returns an exit code of `comeback.cli.exit_codes`."""
    given = sys.argv[1:] if arguments is None else arguments
    if given in (["--version"], ["-V"]):  # before anything slow is imported
        print(f"comeback {VERSION}")
        return 0
    # One thread for small matrices: several only wait for each other, most of all on a busy machine.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from comeback.cli.command_line import run

    return run(given)
