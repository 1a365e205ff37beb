"""Cases as lists: all of them, and the unfinished walks to go on with."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from comeback.cli.look import Look, Styled
from comeback.cli.screens.advice_now import advice_now, advice_text, state_of
from comeback.cli.screens.event_text import complaints_text, plate_text
from comeback.cli.screens.heading import shortened
from comeback.cli.words.spelling import same
from comeback.engine.case.case import Case, read_case
from comeback.engine.case.events import Kind
from comeback.engine.case_log.protocol import CaseLine, DamagedCase, NoSuchCase
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

if TYPE_CHECKING:
    from comeback.engine.case_log.store import SqlCaseLog

Row = Mapping[str, str]
SEARCHED = ("case", "state", "car", "registration", "complaint", "complaint_name", "words", "by", "last")
LOOKED_AT = 12
"""Latest touched cases that are read for the list; older ones are in `comeback cases`."""


def rows_of(knowledge: KnowledgeBase, log: "SqlCaseLog") -> list[dict[str, str]]:
    """One row a case, the latest touched first; a damaged case hides no other."""
    rows = []
    for line in log.cases():
        try:
            recorded = log.events(line.id)
            case, now = read_case(recorded), advice_now(knowledge, recorded)
            due = now.due.word if now.due is not None else ""
            rows.append(_row(knowledge, case, line, state_of(case, now, line.last.at), due))
        except DamagedCase:
            rows.append(_row(knowledge, Case(id=line.id), line, "damaged: cases verify", ""))
        except NoSuchCase:  # deleted meanwhile
            continue
    return rows


def _row(knowledge: KnowledgeBase, case: Case, line: CaseLine, state: str, due: str) -> dict[str, str]:
    return {
        "case": case.id, "last": line.last.at[:16].replace("T", " "), "state": state, "due": due,
        "complaint": case.complaint or "", "complaint_name": complaints_text(knowledge, case.complaints),
        "words": case.words, "car": case.car, "registration": plate_text(case), "by": line.last.by,
    }  # fmt: skip


def found_by(rows: Sequence[dict[str, str]], text: str) -> list[dict[str, str]]:
    """The rows in which every word is somewhere, or that have this license plate, blanks and case ignored."""
    words = text.lower().split()

    def fits(row: Row) -> bool:
        plates = row["registration"].partition(" (")[0].split(", ")
        whole = " ".join(row[key] for key in SEARCHED).lower()
        return all(word in whole for word in words) or any(same(plate, text) for plate in plates if plate)

    return [row for row in rows if fits(row)]


def list_lines(rows: Sequence[Row], look: Look) -> list[Styled]:
    """Two lines a case: state and advice, then which car; what is due and was not told stands out."""
    lines: list[Styled] = []
    for row in rows:
        lead = f"{row['case']}  {row['last']}  "
        style = "caution" if row["due"] else "plain"
        lines += look.styled(style, row["state"], len(lead), lead)
        parts = (row["registration"], row["car"], row["complaint_name"], row["by"])
        lines += look.styled("faint", "  ·  ".join(filter(None, parts)), 6, "      ")
    return lines


MOST_LISTED, MOST_NOTED = 9, 3
"""Unfinished comebacks in the list, and of those to be told at once below the first question."""


@dataclass(frozen=True)
class Offer:
    """An unfinished walk: its case, the car, who touched it last (or to whom it was given), when, how far.

    `due`: an advice that is due and was not told, or not agreed to.
    """

    case: str
    car: str
    by: str
    age: str
    where: str
    due: str = ""


def unfinished(log: "SqlCaseLog", knowledge: KnowledgeBase, audience: Audience, by: str, at: str) -> list[Offer]:
    """Unfinished walks of this audience: those with an advice due, those given to `by`, then the latest first."""
    out: list[tuple[bool, bool, Offer]] = []
    for line in log.cases()[:LOOKED_AT]:
        if line.last.kind in (Kind.CLOSED, Kind.HANDED_OVER):
            continue
        try:
            recorded = log.events(line.id)
        except (DamagedCase, NoSuchCase):  # `comeback cases` says so; deleted meanwhile
            continue
        case, now = read_case(recorded), advice_now(knowledge, recorded)
        ended = case.closed is not None or case.handed_over is not None or case.solved is not None
        is_open = case.audience is Audience.BAY or case.disposition is not None
        if audience is Audience.PHONE:  # also what the bay took over, as long as an advice is due that was not told
            is_open = now.due is not None or (case.audience is Audience.PHONE and case.disposition is None)
        if is_open and not ended:
            where = complaints_text(knowledge, case.complaints).lower() or "no complaint yet"
            where += f", {len(case.answers)} answers" if case.answers else ""
            who = f"given to {case.given_to}" if case.given_to else line.last.by
            car = " ".join(filter(None, (case.registration, case.car)))
            due = advice_text(now, at) if now.due is not None else ""
            offer = Offer(case.id, car, who, age(line.last.at, at), where, due)
            out.append((not due, case.given_to.lower() != by.lower(), offer))
    return [offer for *_, offer in sorted(out, key=lambda each: each[:2])]


def age(then: str, now: str) -> str:
    """`12 min ago`, `3 h ago`, `5 days ago`; both ISO 8601 with offset."""
    try:
        minutes = (datetime.fromisoformat(now) - datetime.fromisoformat(then)).total_seconds() / 60
    except (ValueError, TypeError):  # a case from elsewhere: no such day, or no offset
        return then[:10]
    if minutes < 90:
        return f"{max(0, minutes):.0f} min ago"
    return f"{minutes / 60:.0f} h ago" if minutes < 48 * 60 else f"{minutes / 1440:.0f} days ago"


def offer_lines(found: Sequence[Offer], look: Look) -> list[Styled]:
    """The list, with the command that continues one of them."""
    lines = [_offer(number, offer, look) for number, offer in enumerate(found[:MOST_LISTED], 1)]
    if lines:
        lines.insert(
            0, ("faint", f"Unfinished comebacks: {len(found)}.  resume 1  or  resume {found[0].case}  continues it.")
        )
    return lines


def offer_note(found: Sequence[Offer], look: Look) -> list[Styled]:
    """Below the first question: how many there are, in a line; those whose advice nobody has given yet by name."""
    lines = [_offer(number, offer, look) for number, offer in enumerate(found[:MOST_NOTED], 1) if offer.due]
    if found:
        more = "resume  lists them." if len(found) > len(lines) else "resume 1  continues the first."
        lines.append(("faint", f"Unfinished comebacks: {len(found)}.  {more}"))
    return lines


def _offer(number: int, offer: Offer, look: Look) -> Styled:
    parts = [offer.case, offer.due, offer.car, offer.where, offer.by, offer.age]
    text = f"  {number}  " + "  ".join(part for part in parts if part)
    return ("say" if offer.due else "faint", shortened(text, look.width - 1))
