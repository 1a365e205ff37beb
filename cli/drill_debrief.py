"""The end of a drill: safety first, conclusions, then efficiency by itself, then where the paths parted and why."""

from comeback.cli import drill_call_screens as call
from comeback.cli import drill_paths
from comeback.cli.drill_screens import MOST_LINES, entry_name, title
from comeback.cli.look import Look, Styled
from comeback.cli.reasons import why
from comeback.engine import steps
from comeback.engine.drill import Conclusion, Drill, Turn
from comeback.engine.drill_hints import LEVELS
from comeback.engine.drill_measures import STILL_OPEN
from comeback.engine.drill_phone import PhoneDrill
from comeback.engine.drill_score import Divergence, Score

MOST_SHOWN = 3
INDENT = 14


def screens(drill: Drill, score: Score, look: Look, name: str = "") -> list[list[Styled]]:
    """Screens of at most MOST_LINES lines each."""
    out = [_first(drill, score, look, name), _efficiency(drill, score, look)]
    if score.divergence is not None:
        out.append(_divergence(drill, score.divergence, look))
    out += drill_paths.beside(drill, score, look)
    return [screen[k : k + MOST_LINES] for screen in out for k in range(0, len(screen), MOST_LINES)]


def _first(drill: Drill, score: Score, look: Look, name: str) -> list[Styled]:
    """Safety, what it was, advice, conclusions, suspects, hints."""
    known = drill.knowledge
    lines: list[Styled] = [
        ("faint", look.rule),
        ("title", f"Debrief: {score.ended}{f'   drill {name}' if name else ''}"),
    ]
    safety = "; ".join(score.safety) or "no miss"
    lines += [("caution" if score.safety else "plain", x) for x in look.wrap(safety, INDENT, "Safety")]
    behind = "; ".join(known.causes[cause].name for cause in sorted(drill.car.behind))
    lines += [("say", x) for x in look.wrap(behind, INDENT, "It was")]
    rows = [("Driving", _driving(drill, score))]
    if isinstance(drill, PhoneDrill):
        rows += _call(drill, score)
    if score.conclusions or not isinstance(drill, PhoneDrill):
        rows.append(("Conclusions", _conclusions(score)))
    for head, text in rows:
        lines += [("plain", x) for x in look.wrap(text, INDENT, head)]
    for made in score.unwarranted[:MOST_SHOWN]:
        lines += [("say", x) for x in look.wrap(_unwarranted(drill, made), INDENT + 2, " " * INDENT + "- ")]
    for head, text in _minds(score):
        lines += [("plain", x) for x in look.wrap(text, INDENT, head)]
    return lines


def _driving(drill: Drill, score: Score) -> str:
    words, advice = drill.knowledge.dispositions, score.advice
    if advice.told is None:
        return "nothing was told to the customer"
    told = f"told: {words[advice.told].name}"
    if advice.right is None or advice.least is None:
        return f"{told} (by the program)"
    if advice.correct:
        return f"{told}; right"
    return f"{told}; right: {words[advice.right].name}; the least: {words[advice.least].name}"


def _call(drill: PhoneDrill, score: Score) -> list[tuple[str, str]]:
    promised = "; ".join(f'"{call.WANTS[want]}" say "{call.good_reply(want)}"' for want in score.promised)
    return [
        ("Promised", promised or "nothing"),
        ("Read back", "done" if score.read_back else "not done: complaint, signs and advice, then his yes"),
    ]


def _conclusions(score: Score) -> str:
    found = "the cause was found" if score.found else "the cause was not found"
    if not score.conclusions:
        return f"none made; {found}"
    alike = sum(made.programs for made in score.unwarranted)
    tail = f" ({alike} of them the program would have made too)" if alike else ""
    return f"{len(score.unwarranted)} of {score.conclusions} unwarranted{tail}; {found}"


def _unwarranted(drill: Drill, made: Conclusion) -> str:
    causes = drill.knowledge.causes
    still = ", ".join(f"{causes[c].name} {100 * p:.0f} %" for c, p in made.open[:MOST_SHOWN])
    name = entry_name(drill, made.kind, made.name)[0]
    return f"{made.kind} {name!r} while still open (from {100 * STILL_OPEN:.0f} %): {still}"


def _minds(score: Score) -> list[tuple[str, str]]:
    """Suspects, expectations, hints: told only if there were any."""
    rows = []
    if score.named:
        leading = sum(one.leading for one in score.suspicions)
        rows.append(
            ("Suspects", f"true cause named {score.named_right} of {score.named} times; in the top 3 then: {leading}")
        )
    if score.expected:
        rows.append(("Expected", f"came {score.met} of {score.expected} times"))
    if score.hint_levels:
        levels = ", ".join(f"{score.hint_levels.count(n)} {LEVELS[n - 1]}" for n in (1, 2, 3) if n in score.hint_levels)
        rows.append(("Hints", f"{len(score.hint_levels)}: {levels}"))
    return rows


def _efficiency(drill: Drill, score: Score, look: Look) -> list[Styled]:
    """Checks, minutes, and for each check what it could tell beside the best one then."""
    asked = "Questions" if isinstance(drill, PhoneDrill) else "Checks"
    text = f"{asked} {score.checks} (program {score.program_checks})"
    text += f"; minutes {score.minutes:.0f} (program {score.program_minutes:.0f})"
    if score.redundant:
        text += f"; {score.redundant} told nothing new"
    lines: list[Styled] = [("title", "Efficiency"), *(("plain", x) for x in look.wrap(text))]
    return [*lines, *drill_paths.worth(drill, look)]


def _divergence(drill: Drill, parted: Divergence, look: Look) -> list[Styled]:
    """Both steps, and what each could have told."""
    turn, instead = parted.turn, parted.instead
    lines: list[Styled] = [("title", f"Where your path left the program's: your step {parted.number}")]
    lines += [("plain", x) for x in look.wrap(_yours(drill, turn), 9, "You")]
    if turn.kind == "check" and len(turn.checks) == 1:
        lines += why(turn.walk.at(steps.MakeCheck(turn.name, turn.minutes, 0.0, ())), look)
    lines += [("plain", ""), *(("say", x) for x in look.wrap(_programs(drill, turn, instead), 9, "Program"))]
    return [*lines, *why(turn.walk, look)]


def _yours(drill: Drill, turn: Turn) -> str:
    name = entry_name(drill, turn.kind, turn.name)[0]
    if turn.kind == "repair":
        return f"repair {name}, {turn.minutes:.0f} min"
    return f"{name}: {turn.bits:.2f} bits for {turn.minutes:.1f} min"


def _programs(drill: Drill, turn: Turn, step: steps.Step) -> str:
    match step:
        case steps.MakeCheck() | steps.ReadPanel():
            return f"{title(drill, step)}: {step.minutes:.1f} min, saves {step.saves:.0f} min of repair on average"
        case steps.DoRepair(cures=cures):
            return f"{title(drill, step)}: cures {100 * cures:.0f} of 100 such cars; no check saved more than it cost"
        case steps.Advise(disposition=told):
            return f"ask no more; tell him: {drill.knowledge.dispositions[told].name}"
    return title(drill, step)
