"""A case found by what people know of it: its id, the license plate, or the car as the customer names it."""

from collections.abc import Sequence

from comeback.cli.words.spelling import same, tidy
from comeback.engine.case.events import Event, Kind
from comeback.engine.case_log.protocol import LETTERS, CaseLog, NoSuchCase
from comeback.engine.safe_text import harmless

MOST_LISTED = 9
LEAST_PLATE = 3
"""Signs of a license plate below which it is not searched for."""


def case_id(log: CaseLog, text: str) -> str:
    """The id of the one case that `text` names. Raises NoSuchCase, UsageError if there are several."""
    from comeback.cli.errors import UsageError

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
    if not found:
        raise (
            missing
            if set(wanted) <= set(LETTERS) or " " not in wanted
            else NoSuchCase(
                f"No case in {log.name} has that id, license plate or car: '{text}'. List them: comeback cases."
            )
        )
    raise UsageError("\n".join([f"{len(found)} cases match '{text}'. Give one by its id:", *listed(log, found)]))


def search(log: CaseLog, text: str) -> list[str]:
    """Ids of the cases with this license plate, else of those whose car is called by these words; the latest first."""
    known = log.events_of_kinds((Kind.OPENED, Kind.RENAMED, Kind.REGISTERED))
    order = [line.id for line in log.cases()]
    plates = [name for name in order if len(tidy(text)) >= LEAST_PLATE and _has_plate(known.get(name, ()), text)]
    return plates or [name for name in order if _has_words(known.get(name, ()), text)]


def _has_plate(told: Sequence[Event], text: str) -> bool:
    return any(same(str(event.payload.get("registration", "")), text) for event in told)


def _has_words(told: Sequence[Event], text: str) -> bool:
    """All the words, in one name of the car."""
    words = text.lower().split()
    cars = [str(event.payload.get("car", "")).lower() for event in told]
    return bool(words) and any(car and all(word in car for word in words) for car in cars)


def earlier_cases(log: CaseLog, car: str, registration: str, but: str = "") -> list[str]:
    """Ids of other cases of the same car, the latest first."""
    found = search(log, registration) if registration else []
    if not found and car.strip():
        known = log.events_of_kinds((Kind.OPENED, Kind.RENAMED))
        wanted = car.strip().lower()
        names = {n for n, told in known.items() if any(str(e.payload.get("car", "")).lower() == wanted for e in told)}
        found = [line.id for line in log.cases() if line.id in names]
    return [name for name in found if name != but]


def listed(log: CaseLog, names: Sequence[str]) -> list[str]:
    """A line for each case: id, when it was touched last, car and license plate."""
    known = log.events_of_kinds((Kind.OPENED, Kind.RENAMED, Kind.REGISTERED))
    last = {line.id: line.last.at for line in log.cases()}
    out = []
    for name in names[:MOST_LISTED]:
        told = known.get(name, ())
        cars = [str(e.payload["car"]) for e in told if e.payload.get("car")]
        plates = [str(e.payload["registration"]) for e in told if e.kind == Kind.REGISTERED]
        parts = [name, last.get(name, "")[:16].replace("T", " "), *plates[-1:], *cars[-1:]]
        out.append("  " + harmless("  ".join(parts)))
    return [*out, *([f"  and {len(names) - MOST_LISTED} more"] if len(names) > MOST_LISTED else [])]


def resolve(place: str, text: str) -> str:
    """`case_id` for the log at `place`; nothing is opened for a text that is an id already checked elsewhere."""
    from contextlib import closing

    from comeback.engine.case_log.store import open_log

    with closing(open_log(place)) as log:
        return case_id(log, text)
