"""A closed terminal (SIGHUP) or a request to end (SIGTERM): the walk is left in order, the terminal restored."""

import signal
from types import FrameType
from typing import Any

NAMES = ("SIGHUP", "SIGTERM")


class Stopped(Exception):
    """The program was told to end; `code` is 128 and the signal's number, as shells count."""

    def __init__(self, number: int) -> None:
        self.name, self.code = signal.Signals(number).name, 128 + number
        super().__init__(f"Stopped by {self.name}. Everything answered so far is kept.")


def _stop(number: int, _frame: FrameType | None) -> Any:
    signal.signal(number, signal.SIG_IGN)  # a second one must not interrupt the leaving
    raise Stopped(number)


def leave_in_order() -> None:
    """From now on these signals raise Stopped in the main thread, on systems that have them."""
    for name in NAMES:
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), _stop)
