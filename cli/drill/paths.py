"""The trainee's path beside the program's, and what each of his steps was worth then, as lines of text."""

from comeback.cli.drill.screens import MOST_LINES, entry_name, title
from comeback.cli.look import Look, Styled
from comeback.engine.drill.drill import Drill, Turn
from comeback.engine.drill.score import CHECKS, Score
from comeback.engine.drill.worth import ALIKE, ALIKE_SHARE, Verdict
from comeback.engine.walk import steps

MOST_TURNS = 14
WORDS = {
    Verdict.SAME: "the same step",
    Verdict.BETTER: "better",
    Verdict.AS_GOOD: "as good",
    Verdict.COSTLIER: "cost more",
}


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
    lost = score.divergence.number if score.divergence else 0
    room = (look.width - 1 - 8) // 2
    rows: list[Styled] = []
    for number in range(1, max(len(yours), len(programs)) + 1):
        left = _cut(yours[number - 1] if number <= len(yours) else "", room)
        right = _cut(programs[number - 1] if number <= len(programs) else "", room)
        mark = ">" if number == lost else "+" if number in score.good else " "
        rows.append(("say" if number == lost else "plain", f"{number:2d} {mark} {left.ljust(room)} | {right}".rstrip()))
    head: list[Styled] = [
        ("title", "Both paths, minutes in brackets" + _marks(score)),
        ("faint", f"     {'You'.ljust(room)} | Program"),
    ]
    step = MOST_LINES - len(head)
    return [[*head, *rows[k : k + step]] for k in range(0, len(rows), step)]


def _named(drill: Drill, turn: Turn) -> str:
    kind = "repair: " if turn.kind == "repair" else ""
    return f"{kind}{entry_name(drill, turn.kind, turn.name)[0]} ({turn.minutes:.0f})"


def _marks(score: Score) -> str:
    lost = ";  > cost most" if score.divergence else ""
    return lost + (";  + as good or better" if score.good else "")


def worth(drill: Drill, look: Look) -> list[Styled]:
    """One line for each step: minutes still to go after it and after the program's, by what was known then."""
    turns = list(enumerate(drill.turns, 1))
    if not turns:
        return [("plain", "No check was made.")]
    room = look.width - 1 - 44
    lines: list[Styled] = [
        ("plain", ""),
        ("faint", "Minutes to go on average, by what was known then, with your step and with"),
        ("faint", f"the program's; alike within {ALIKE:g} min or {100 * ALIKE_SHARE:.0f} of 100."),
    ]
    for number, turn in turns[:MOST_TURNS]:
        name = _cut(f"{'repair: ' * (turn.kind == 'repair')}{entry_name(drill, turn.kind, turn.name)[0]}", room)
        found = turn.worth
        figures = f"{found.yours:5.0f} {found.programs:5.0f}" if found else " " * 11
        line = f"{number:2d}  {name.ljust(room)}  {figures}  {note(turn)}"
        lines.append(("plain", line[: look.width - 1].rstrip()))
    if len(turns) > MOST_TURNS:
        lines.append(("faint", f"and {len(turns) - MOST_TURNS} more"))
    return lines


def note(turn: Turn) -> str:
    """What a step was worth, in words, and whether its result was expected."""
    said = "nothing new" if turn.redundant else WORDS[turn.worth.verdict] if turn.worth else ""
    if turn.worth and turn.worth.verdict is Verdict.COSTLIER and not turn.redundant:
        said = f"{turn.worth.lost:.0f} min more"
    if turn.expects is None:
        return said
    return f"{said}; {'as' if turn.results.get(turn.name) == turn.expects else 'not'} expected"


def _cut(text: str, room: int) -> str:
    return text if len(text) <= room else text[: room - 2].rstrip() + ".."
