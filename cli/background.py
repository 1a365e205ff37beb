"""Work behind a question: what loads in a thread of its own, and the answer that was typed meanwhile."""

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Generic, TypeVar

from comeback.cli.readers import Idle, Reader
from comeback.cli.signals import Stopped

if TYPE_CHECKING:
    from comeback.engine.walk.walk import Walk

Made = TypeVar("Made")


class Background(Generic[Made]):
    """What `make` returns, made in a thread; an error of it is raised where the result is asked for."""

    def __init__(self, make: Callable[[], Made]) -> None:
        self._made: list[Made] = []
        self._error: BaseException | None = None
        self._thread = threading.Thread(target=self._run, args=(make,), daemon=True)
        self._thread.start()

    def _run(self, make: Callable[[], Made]) -> None:
        try:
            self._made.append(make())
        except BaseException as error:
            self._error = error

    def result(self) -> Made:
        """Wait for it. Raises whatever `make` raised."""
        self._thread.join()
        if self._error is not None:
            raise self._error
        return self._made[0]


class ReadAhead:
    """A reader whose first line is asked for at once, before there is a walk; then it is the reader itself."""

    def __init__(self, reader: Reader) -> None:
        self.interactive, self.scripted, self._reader = reader.interactive, reader.scripted, reader
        self._first: str | BaseException | None
        try:
            self._first = reader.ask(None)
        except (Idle, EOFError, KeyboardInterrupt, Stopped) as outcome:
            self._first = outcome

    def ask(self, walk: "Walk | None") -> str:
        """The line that was typed first (or what happened instead), then each next one."""
        first, self._first = self._first, None
        if isinstance(first, BaseException):
            raise first
        return self._reader.ask(walk) if first is None else first
