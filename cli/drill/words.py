"""The words of a drill: what the order says, names of entries and steps, what was seen, what leads, minutes."""

from collections.abc import Iterable, Iterator, Mapping

from comeback.cli.look import Look, Styled
from comeback.cli.screens.why import why
from comeback.engine.drill.drill import Drill
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import FEATURE_LEADS, FEATURE_QUESTIONS, FEATURE_VALUES

MOST_LINES = 22
"""Lines of one screen: the last two of 24 are for the keys and the answer."""
INDENT = 14
WHY_INDENT = 4
"""Columns by which the lines of "why" are indented."""
NOBODY_KNOWS = "nobody could tell"


def put(look: Look, rows: Iterable[tuple[str, str]], style: str = "plain", indent: int = INDENT) -> list[Styled]:
    """Rows of a head and a text, wrapped behind the head; an empty text is left out."""
    return [(style, line) for head, text in rows if text for line in look.wrap(text, indent, f"  {head}")]


def reasons(walk: Walk, look: Look, head: str = "") -> list[Styled]:
    """Why the walk's step is made, as `w` shows it, behind a head."""
    lines = why(walk, look._replace(width=look.width - INDENT + WHY_INDENT))
    return [(style, f"{head if not k else '':{INDENT}}{text[WHY_INDENT:]}") for k, (style, text) in enumerate(lines)]


def screens_of(lines: list[Styled], room: int = MOST_LINES) -> list[list[Styled]]:
    """Lines in screens of at most `room`."""
    return [lines[k : k + room] for k in range(0, len(lines), room)]


def story(drill: Drill) -> tuple[tuple[str, str], ...]:
    """(head, text) of what the order says: service, complaint, car."""
    known, car = drill.knowledge, drill.car.comeback
    complaint = known.complaints[car.complaint]
    built = "; ".join(f"{FEATURE_LEADS[feature]}{FEATURE_VALUES[value]}" for feature, value in car.vehicle)
    return (
        ("Service", known.services[car.service].name),
        ("Complaint", f'{complaint.name}: "{complaint.words[0]}"'),
        ("The car", built),
    )


def name_of(knowledge: KnowledgeBase, kind: str, name: str) -> str:
    """Name of a check (of its panel, if it has one) or of a repair."""
    if kind == "repair":
        return knowledge.repairs[name].name
    panel = knowledge.checks[name].panel
    return knowledge.panels[panel].name if panel else knowledge.checks[name].name


def title(knowledge: KnowledgeBase, step: steps.Step) -> str:
    """A step of the program in a few words."""
    known = knowledge.checks
    match step:
        case steps.DangerScreen(checks, retry):
            named = ", ".join(known[check].name.lower() for check in checks)
            return f"danger signs{' asked once more' if retry else ''}: {named}"
        case steps.MakeCheck(check=check, again=again):
            return f"{'look again: ' * (again is not None)}{known[check].name}"
        case steps.ReadPanel(panel=panel):
            return knowledge.panels[panel].name
        case steps.LookRound(checks):
            return ", ".join(known[check].name for check in checks)
        case steps.ProveRepair() | steps.ProofRound():
            return f"proof: {', '.join(known[check].name for check in steps.checks_of(step))}"
        case steps.DoRepair(repair=repair):
            return f"repair: {knowledge.repairs[repair].name}"
        case steps.ChooseCondition(feature=feature):
            return FEATURE_QUESTIONS[feature]
        case steps.TakeOneBack():
            return "take one of two findings back"
        case steps.Advise(disposition=advice):
            return f"advice on driving: {knowledge.dispositions[advice].name}"
    return "hand the car over" if isinstance(step, steps.HandOver) else "close the case"


def seen(knowledge: KnowledgeBase, results: Mapping[str, str | None], every: bool) -> Iterator[str]:
    """`Name: result` of what is not as it should be, or of everything; last what nobody could tell."""
    known = knowledge.checks
    for check, result in results.items():
        if result is not None and (every or result != known[check].expected):
            yield f"{known[check].name}: {known[check].results[result]}"
    unknown = [known[check].name for check, result in results.items() if result is None]
    if unknown:
        yield f"{NOBODY_KNOWS}: {', '.join(unknown)}"


def minutes(value: float) -> str:
    """Minutes as they are said: 14, 2.5."""
    return f"{round(value, 1):g}"
