"""The end of a drill: safety first, conclusions, then minutes by themselves, then what was good and what cost most."""

from comeback.cli.drill import call_screens as call
from comeback.cli.drill import hazards as drill_hazards
from comeback.cli.drill import paths as drill_paths
from comeback.cli.drill import words
from comeback.cli.drill.screens import MOST_LINES, entry_name, title
from comeback.cli.look import Look, Styled
from comeback.engine.drill.drill import GONE, Conclusion, Drill, Turn
from comeback.engine.drill.hints import LEVELS
from comeback.engine.drill.measures import STILL_OPEN
from comeback.engine.drill.phone import PhoneDrill
from comeback.engine.drill.score import Divergence, Score
from comeback.engine.drill.worth import ALIKE, Verdict
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk

MOST_SHOWN = 3
INDENT = 14
LEAST_SAVED = 0.5


def screens(drill: Drill, score: Score, look: Look, name: str = "") -> list[list[Styled]]:
    """Screens of at most MOST_LINES lines each."""
    out = [_first(drill, score, look, name), *drill_hazards.screen(drill, look), _efficiency(drill, score, look)]
    if score.good and (score.divergence is None or score.shorter):
        out.append(_praise(drill, score, look))
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
    return f"{len(score.unwarranted)} of {score.conclusions} too soon{tail}; {found}"


def _unwarranted(drill: Drill, made: Conclusion) -> str:
    causes = drill.knowledge.causes
    still = ", ".join(f"{causes[c].name} {100 * p:.0f}" for c, p in made.open[:MOST_SHOWN])
    name = entry_name(drill, made.kind, made.name)[0]
    return f"{made.kind} {name!r} while other causes were still open ({100 * STILL_OPEN:.0f} of 100 or more): {still}"


def _minds(score: Score) -> list[tuple[str, str]]:
    """Suspects, expectations, hints: told only if there were any."""
    rows = []
    if score.named:
        leading = sum(one.leading for one in score.suspicions)
        said = f"true cause named {score.named_right} of {score.named} times"
        rows.append(("Suspects", f"{said}; among the three likeliest then: {leading}"))
    if score.expected:
        rows.append(("Expected", f"came {score.met} of {score.expected} times"))
    if score.hint_levels:
        levels = ", ".join(f"{score.hint_levels.count(n)} {LEVELS[n - 1]}" for n in (1, 2, 3) if n in score.hint_levels)
        rows.append(("Hints", f"{len(score.hint_levels)}: {levels}"))
    return rows


def _efficiency(drill: Drill, score: Score, look: Look) -> list[Styled]:
    """Checks, minutes, and for each step what it was worth beside the program's then."""
    asked = "questions" if isinstance(drill, PhoneDrill) else "checks"
    text = f"You {score.checks} {asked}, {score.minutes:.0f} min; the program {score.program_checks}, "
    text += f"{score.program_minutes:.0f} min."
    if score.redundant:
        text += f" {words.count(score.redundant, 'check')} told nothing new."
    lines: list[Styled] = [("title", "Minutes"), *(("plain", x) for x in look.wrap(text))]
    lines += [("say", x) for x in look.wrap(_verdict(drill, score))]
    return [*lines, *drill_paths.worth(drill, look)]


def _verdict(drill: Drill, score: Score) -> str:
    """The whole path beside the program's, in one sentence."""
    if isinstance(drill, PhoneDrill):
        return ""
    if score.shorter:
        return "Your path was shorter than the program's, and no conclusion came too soon. Well done."
    if not score.warranted and score.ended == GONE:
        return "The complaint is gone, but a conclusion came too soon: on another car this way costs more."
    if not score.warranted:
        return "The car was not put right, so the minutes cannot be compared."
    if score.minutes <= score.program_minutes + ALIKE:
        return "As quick as the program. Well done."
    return f"{score.minutes - score.program_minutes:.0f} min more than the program."


def _praise(drill: Drill, score: Score, look: Look) -> list[Styled]:
    """The trainee's own steps that were as good as the program's or better, by what was known then."""
    lines: list[Styled] = [("title", "Your own way, and a good one")]
    for number in score.good[:MOST_SHOWN]:
        turn = drill.turns[number - 1]
        assert turn.worth is not None
        way = "better than" if turn.worth.verdict is Verdict.BETTER else "as good as"
        name = entry_name(drill, turn.kind, turn.name)[0]
        text = f"{name}: {way} the program's {title(drill, turn.worth.instead)}; by what was known then "
        text += f"{turn.worth.yours:.0f} min to go on average with yours, {turn.worth.programs:.0f} with that."
        lines += [("plain", x) for x in look.wrap(text, 8, f"Step {number:2d}")]
    return lines


def _divergence(drill: Drill, lost: Divergence, look: Look) -> list[Styled]:
    """Both steps, what each would have told, and what yours cost beyond the other on average."""
    turn, found = lost.turn, lost.worth
    more = f"about {found.lost:.0f} min more on average"
    head = f"What cost most: your step {lost.number}, {more}, by what was known then"
    lines: list[Styled] = [("title", x) for x in look.wrap(head)]
    lines += [("plain", x) for x in look.wrap(words.leading(turn.walk, 3), INDENT, "Known then")]
    lines += [("say", x) for x in look.wrap(_yours(drill, turn), INDENT, "You")]
    if turn.kind == "check" and len(turn.checks) == 1 and not turn.redundant:
        lines += _why(turn.walk, steps.MakeCheck(turn.name, turn.minutes, 0.0, ()), look)
    lines += [("plain", ""), *(("say", x) for x in look.wrap(_programs(drill, lost), INDENT, "Quicker"))]
    return [*lines, *_why(turn.walk, lost.instead, look)]


def _why(walk: Walk, step: steps.Step, look: Look) -> list[Styled]:
    return [("plain", x) for text in words.reasons(walk, step) for x in look.wrap(text, INDENT, " " * INDENT)]


def _yours(drill: Drill, turn: Turn) -> str:
    name = entry_name(drill, turn.kind, turn.name)[0]
    tail = ", told nothing new" if turn.redundant else ""
    return f"{'repair: ' * (turn.kind == 'repair')}{name}, {words.minutes(turn.minutes)} min{tail}"


def _programs(drill: Drill, lost: Divergence) -> str:
    step = lost.instead
    match step:
        case steps.MakeCheck() | steps.ReadPanel():
            saved = f", saves {words.minutes(step.saves)} min of repair on average" if step.saves >= LEAST_SAVED else ""
            return f"{title(drill, step)}: {words.minutes(step.minutes)} min{saved}"
        case steps.DoRepair(cures=cures):
            return f"{title(drill, step)}: cures {100 * cures:.0f} of 100 such cars"
        case steps.Advise(disposition=told):
            return f"ask no more; tell him: {drill.knowledge.dispositions[told].name}"
    return title(drill, step)
