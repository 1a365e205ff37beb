"""The trainee's path beside the program's, and what each check could have told, as lines of text."""

from comeback.cli.drill_screens import MOST_LINES, entry_name, title
from comeback.cli.look import Look, Styled
from comeback.engine import steps
from comeback.engine.drill import Drill, Turn
from comeback.engine.drill_score import CHECKS, Score

BAR = 10
"""Signs of a bar: full when no check could have told more."""
MOST_TURNS = 18


def beside(drill: Drill, score: Score, look: Look) -> list[list[Styled]]:
    """Both paths in two columns; a mark stands where they part first."""
    yours = [_named(drill, turn) for turn in drill.turns]
    programs = [
        f"{title(drill, p.step)} ({p.minutes:.0f})"
        for p in drill.program[drill.played :]
        if isinstance(p.step, (*CHECKS, steps.DoRepair))
    ]
    if not yours and not programs:
        return []
    parted = score.divergence.number if score.divergence else 0
    room = (look.width - 1 - 8) // 2
    rows: list[Styled] = []
    for number in range(1, max(len(yours), len(programs)) + 1):
        left = _cut(yours[number - 1] if number <= len(yours) else "", room)
        right = _cut(programs[number - 1] if number <= len(programs) else "", room)
        mark = ">" if number == parted else " "
        rows.append(
            ("say" if number == parted else "plain", f"{number:2d} {mark} {left.ljust(room)} | {right}".rstrip())
        )
    head: list[Styled] = [
        ("title", "Both paths on this car, minutes in brackets" + (";  > where they part" if parted else "")),
        ("faint", f"     {'You'.ljust(room)} | Program"),
    ]
    step = MOST_LINES - len(head)
    return [[*head, *rows[k : k + step]] for k in range(0, len(rows), step)]


def _named(drill: Drill, turn: Turn) -> str:
    kind = "repair: " if turn.kind == "repair" else ""
    return f"{kind}{entry_name(drill, turn.kind, turn.name)[0]} ({turn.minutes:.0f})"


def worth(drill: Drill, look: Look) -> list[Styled]:
    """One line for each check: a bar of what it could tell beside the best one then, in bits."""
    checks = [(number, turn) for number, turn in enumerate(drill.turns, 1) if turn.kind == "check"]
    if not checks:
        return [("plain", "No check was made.")]
    room = look.width - 1 - 44
    lines: list[Styled] = [
        ("plain", ""),
        ("faint", "What each could tell, of the best one then (bits):"),
    ]
    for number, turn in checks[:MOST_TURNS]:
        name = _cut(entry_name(drill, "check", turn.name)[0], room)
        figures = f"{turn.bits:4.2f} of {turn.best_bits:4.2f}"
        lines.append(("plain", f"{number:2d}  {name.ljust(room)}  {_bar(turn)}  {figures}  {_note(turn)}".rstrip()))
    if len(checks) > MOST_TURNS:
        lines.append(("faint", f"and {len(checks) - MOST_TURNS} more"))
    return lines


def _bar(turn: Turn) -> str:
    share = turn.bits / turn.best_bits if turn.best_bits > 0 else 0.0
    full = round(BAR * min(1.0, share))
    return "#" * full + "." * (BAR - full)


def _note(turn: Turn) -> str:
    if turn.redundant:
        return "nothing new"
    if turn.expects is None:
        return ""
    return "as expected" if turn.results.get(turn.name) == turn.expects else "unexpected"


def _cut(text: str, room: int) -> str:
    return text if len(text) <= room else text[: room - 2].rstrip() + ".."
