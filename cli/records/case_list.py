"""All cases as a list: where each stands, how far its advice got, which car it is."""

from collections.abc import Mapping, Sequence

from comeback.cli.look import Look, Styled
from comeback.cli.screens.advice_now import advice_now, state_of
from comeback.cli.screens.event_text import complaints_text, plate_text
from comeback.cli.words.spelling import same
from comeback.engine.case.case import Case, read_case
from comeback.engine.case_log.protocol import CaseLine, CaseLog, DamagedCase, NoSuchCase
from comeback.kb.schema import KnowledgeBase

Row = Mapping[str, str]
DAMAGED = "damaged: cases verify"
SEARCHED = ("case", "state", "car", "registration", "complaint", "complaint_name", "words", "by", "last")


def rows_of(knowledge: KnowledgeBase, log: CaseLog) -> list[dict[str, str]]:
    """One row a case, the latest touched first; a damaged case hides no other."""
    rows = []
    for line in log.cases():
        try:
            recorded = log.events(line.id)
            case, now = read_case(recorded), advice_now(knowledge, recorded)
            due = now.due.word if now.due is not None else ""
            rows.append(_row(knowledge, case, line, state_of(case, now, line.last.at), due))
        except DamagedCase:
            rows.append(_row(knowledge, Case(id=line.id), line, DAMAGED, ""))
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
