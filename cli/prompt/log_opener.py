"""The case log, opened when it is first needed."""

from pathlib import Path
from typing import TYPE_CHECKING

from comeback.engine.case_log.address import is_database

if TYPE_CHECKING:
    from comeback.engine.case_log.store import SqlCaseLog


class LogOpener:
    """Opens the case log when it is first needed, so that the first question need not wait for it."""

    def __init__(self, place: str) -> None:
        self.place = place
        self._log: SqlCaseLog | None = None

    @property
    def there(self) -> bool:
        """True if there may be cases in the log; one that is not there yet need not be opened to know that."""
        return is_database(self.place) or Path(self.place).exists()

    def close(self) -> None:
        """Let go of the log, if it was opened."""
        if self._log is not None:
            self._log.close()

    def __call__(self) -> "SqlCaseLog":
        """The open log. Raises CaseLogError if it cannot be opened."""
        if self._log is None:
            from comeback.engine.case_log.store import open_log

            self._log = open_log(self.place)
        return self._log
