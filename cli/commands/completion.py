"""Print a completion script for bash, zsh or fish.

bash   eval "$(comeback completion bash)"        in ~/.bashrc
zsh    eval "$(comeback completion zsh)"         in ~/.zshrc
fish   comeback completion fish | source         in ~/.config/fish/config.fish
"""

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback completion`."""
    parser.add_argument("shell", choices=("bash", "zsh", "fish"), metavar="SHELL", help="bash, zsh or fish")


def run(given: argparse.Namespace) -> int:
    """Print the script for the shell."""
    from argcomplete.shell_integration import shellcode

    print(shellcode(["comeback"], shell=given.shell))
    return 0
