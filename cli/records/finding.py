"""A case found by what people know of it: its id, the license plate, or the car as the customer names it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from comeback.cli.errors import UsageError
from comeback.cli.words.spelling import same, tidy
from comeback.engine.case.events import Kind
from comeback.engine.case_log.protocol import LETTERS, NoSuchCase
from comeback.engine.safe_text import harmless

if TYPE_CHECKING:
    from comeback.engine.case_log.store import SqlCaseLog

MOST_LISTED = 9
LEAST_PLATE = 3
"""Signs of a license plate below which it is not searched for."""


def case_id(log: "SqlCaseLog", text: str) -> str:
    """The id of the one case that `text` names. Raises NoSuchCase, UsageError if there are several."""
    text = harmless(text)
    wanted = text.strip().upper()
    try:
        log.events(wanted)
        return wanted
    except NoSuchCase as error:
        missing = error
    found = search(log, text)
    if len(found) == 1:
        return found[0]
    if found:
        raise UsageError("\n".join([f"{len(found)} cases match '{text}'. Give one by its id:", *listed(log, found)]))
    if set(wanted) <= set(LETTERS) or " " not in wanted:
        raise missing
    raise NoSuchCase(f"No case in {log.name} has that id, license plate or car: '{text}'. List them: comeback cases.")


@dataclass(frozen=True)
class _Car:
    """What people know of a case: when it was touched last, its license plates, what the car was called, in order."""

    last: str
    plates: list[str]
    names: list[str]


def _cars(log: "SqlCaseLog") -> dict[str, _Car]:
    """The cars of all cases by id, the latest touched first."""
    told = log.events_of_kinds((Kind.OPENED, Kind.RENAMED, Kind.REGISTERED))

    def texts(case: str, key: str) -> list[str]:
        return [str(event.payload[key]) for event in told.get(case, ()) if event.payload.get(key)]

    return {x.id: _Car(x.last.at, texts(x.id, "registration"), texts(x.id, "car")) for x in log.cases()}


def search(log: "SqlCaseLog", text: str) -> list[str]:
    """Ids of the cases with this license plate, else of those whose car is called by these words; the latest first."""
    cars, words = _cars(log), text.lower().split()
    long_enough = len(tidy(text)) >= LEAST_PLATE
    plates = [case for case, car in cars.items() if long_enough and any(same(plate, text) for plate in car.plates)]
    return plates or [
        case
        for case, car in cars.items()
        if words and any(all(word in name.lower() for word in words) for name in car.names)
    ]


def earlier_cases(log: "SqlCaseLog", car: str, registration: str, but: str = "") -> list[str]:
    """Ids of other cases of the same car, the latest first."""
    found, wanted = search(log, registration) if registration else [], car.strip().lower()
    if not found and wanted:
        found = [case for case, known in _cars(log).items() if wanted in map(str.lower, known.names)]
    return [name for name in found if name != but]


def listed(log: "SqlCaseLog", names: Sequence[str]) -> list[str]:
    """A line for each case: id, when it was touched last, car and license plate."""
    cars = _cars(log)
    shown = [(name, cars[name]) for name in names[:MOST_LISTED] if name in cars]
    lines = [[name, car.last[:16].replace("T", " "), *car.plates[-1:], *car.names[-1:]] for name, car in shown]
    more = [f"  and {len(names) - MOST_LISTED} more"] if len(names) > MOST_LISTED else []
    return [*("  " + harmless("  ".join(parts)) for parts in lines), *more]
