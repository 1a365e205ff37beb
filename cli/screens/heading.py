"""What stands above every screen: which case, which car, how far."""

from comeback.cli.look import Look, Styled
from comeback.engine.case.case import NOT_TAKEN
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

SIGNS_BESIDE = 5


def head(walk: Walk, look: Look, progress: str = "") -> list[Styled]:
    """Which case, for whom, after which service, with which complaint; `progress` stands in the rule above."""
    case, knowledge = walk.case, walk.knowledge
    name = f"case {case.id}" if case.id and case.id != "-" else "new case"
    parts = [name, walk.audience.value]
    if case.services:
        parts.append(" + ".join(knowledge.services[s].plain for s in case.services if s in knowledge.services))
    if case.complaint:
        parts.append(knowledge.complaints[case.complaint].name.lower())
    told = f" {progress} " if progress else ""
    rule: Styled = ("faint", look.rule[: max(0, look.width - 1 - len(told))] + told)
    title, car = (shortened(text, look.width - 1) for text in ("  ·  ".join(parts), car_line(walk)))
    return [rule, ("title", title), *look.styled("faint", car)]


def car_line(walk: Walk) -> str:
    """In the bay: which car it is, what the caller was told, what the customer said. Six danger signs fill a screen."""
    long = isinstance(walk.step, steps.DangerScreen) and len(walk.step.checks) > SIGNS_BESIDE
    if walk.audience is not Audience.BAY or long:
        return ""
    case = walk.case
    plate = case.registration or (f"{case.unconfirmed[-1]} (not confirmed)" if case.unconfirmed else "")
    words = f'"{case.words}"' if case.words else ""
    last = case.last_told
    told = f"{'refused' if last.how == NOT_TAKEN else 'told'}: {last.disposition}" if last else ""
    return "  ·  ".join(part for part in (plate, case.car, told, words) if part)


def shortened(text: str, most: int) -> str:
    """`text` in at most `most` signs, cut between words where it can be."""
    if len(text) <= most:
        return text
    cut = text[: most - 1]
    kept, _, _ = cut.rpartition(" ")
    return f"{(kept if len(kept) > most // 2 else cut).rstrip(' ·,;')}…"
