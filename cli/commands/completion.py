"""Print a completion script for bash, zsh or fish.

bash   eval "$(comeback completion bash)"        in ~/.bashrc
zsh    eval "$(comeback completion zsh)"         in ~/.zshrc
fish   comeback completion fish | source         in ~/.config/fish/config.fish
"""

import argparse

SHELLS = ("bash", "zsh", "fish")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback completion`."""
    parser.add_argument("shell", choices=(*SHELLS, "words"), metavar="SHELL", help="bash, zsh or fish")
    parser.add_argument("typed", nargs="*", help=argparse.SUPPRESS)


def run(given: argparse.Namespace) -> int:
    """Print the script, or (called by the script) the words that may come next."""
    from comeback.cli.completing import script, words

    print("\n".join(words(given.typed)) if given.shell == "words" else script(given.shell))
    return 0
