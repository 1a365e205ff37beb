"""A closed terminal (SIGHUP) or a request to end (SIGTERM): the walk is left in order, the terminal restored."""

import signal
from types import FrameType
from typing import Any

NAMES = ("SIGHUP", "SIGTERM")


class Stopped(SystemExit):
    """The program was asked to stop; `status` is 128 and the signal's number, as shells count.

    A SystemExit, because an event loop passes on nothing else from its callbacks: another exception would be lost
    there, and with it the signal.
    """

    def __init__(self, number: int) -> None:
        self.status = 128 + number
        super().__init__(self.status)
        self.name = signal.Signals(number).name

    def __str__(self) -> str:
        return f"Stopped by {self.name}. Every answer so far is saved."


AGAIN_SECONDS = 0.5
"""An event loop may swallow the exception in one of its callbacks; after so long it is raised once more."""


def _stop(number: int, _frame: FrameType | None) -> Any:
    signal.signal(number, signal.SIG_IGN)  # a second one must not interrupt the leaving
    if hasattr(signal, "setitimer"):
        signal.signal(signal.SIGALRM, lambda _number, frame: _stop(number, frame))
        signal.setitimer(signal.ITIMER_REAL, AGAIN_SECONDS)
    raise Stopped(number)


def caught() -> None:
    """Stopped arrived where it is handled: it is not raised again."""
    if hasattr(signal, "setitimer"):
        signal.setitimer(signal.ITIMER_REAL, 0)


def leave_in_order() -> None:
    """From now on these signals raise Stopped in the main thread, on systems that have them."""
    for name in NAMES:
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), _stop)
