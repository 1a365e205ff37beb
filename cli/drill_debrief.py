"""The end of a drill: safety first, then efficiency and conclusions apart, then the better path and why."""

from collections.abc import Iterator
from typing import Any

from comeback.cli.drill_screens import MOST_LINES, entry_name, title
from comeback.cli.look import Look, Styled
from comeback.cli.reasons import why
from comeback.engine import steps
from comeback.engine.drill import STILL_OPEN, Conclusion, Drill, Turn
from comeback.engine.drill_score import CHECKS, Divergence, Score

MOST_SHOWN = 3


def screens(drill: Drill, score: Score, look: Look) -> list[list[Styled]]:
    """Screens of at most MOST_LINES lines each."""
    out = [_figures(drill, score, look)]
    if score.divergence is not None:
        out.append(_divergence(drill, score.divergence, look))
    if drill.car.path[drill.played :]:
        out.append(_paths(drill, look))
    return [screen[k : k + MOST_LINES] for screen in out for k in range(0, len(screen), MOST_LINES)]


def _figures(drill: Drill, score: Score, look: Look) -> list[Styled]:
    known = drill.knowledge
    lines: list[Styled] = [("faint", look.rule), ("title", f"Debrief: {score.ended}")]
    safety = "; ".join(score.safety) or "no miss"
    lines += [("caution" if score.safety else "plain", x) for x in look.wrap(safety, 14, "Safety")]
    behind = "; ".join(known.causes[cause].name for cause in sorted(drill.car.behind))
    lines += [("say", x) for x in look.wrap(behind, 14, "It was")]
    lines += [("plain", x) for x in look.wrap(_driving(drill), 14, "Driving")]
    lines.append(("plain", ""))
    lines += [("plain", x) for x in look.wrap(_efficiency(score), 14, "Efficiency")]
    lines += [("plain", x) for x in look.wrap(_conclusions(score), 14, "Conclusions")]
    for made in score.unwarranted[:MOST_SHOWN]:
        lines += [("say", x) for x in look.wrap(_unwarranted(drill, made), 18, "              - ")]
    if score.named:
        text = f"a true cause was among them {score.named_right} of {score.named} times"
        lines += [("plain", x) for x in look.wrap(text, 14, "Suspects")]
    if score.hint_levels:
        levels = ", ".join(f"{score.hint_levels.count(n)} of level {n}" for n in sorted(set(score.hint_levels)))
        lines += [("plain", x) for x in look.wrap(levels, 14, "Hints")]
    return lines


def _driving(drill: Drill) -> str:
    words = drill.knowledge.dispositions
    if drill.advice is None:
        return "nothing was told to the customer"
    return f"told: {words[drill.advice].name}; the least was: {words[drill.floor()].name}"


def _efficiency(score: Score) -> str:
    text = (
        f"{score.checks} checks (program {score.program_checks}), {score.minutes:.0f} min "
        f"(program {score.program_minutes:.0f})"
    )
    if score.checks:
        text += f"; a check told {score.bits:.2f} bits on average, the best ones {score.best_bits:.2f}"
        text += f"; {score.redundant} told nothing new"
    return text


def _conclusions(score: Score) -> str:
    if not score.conclusions:
        return "none made"
    found = "the cause was found" if score.found else "the cause was not found"
    return (
        f"{len(score.unwarranted)} of {score.conclusions} unwarranted, {found} "
        f"(the program's repairs by the same rule: {score.program_unwarranted})"
    )


def _unwarranted(drill: Drill, made: Conclusion) -> str:
    causes = drill.knowledge.causes
    still = ", ".join(f"{causes[c].name} {100 * p:.0f} %" for c, p in made.open[:MOST_SHOWN])
    name = entry_name(drill, made.kind, made.name)[0]
    return f"{made.kind} {name!r} while still open (from {100 * STILL_OPEN:.0f} %): {still}"


def _divergence(drill: Drill, parted: Divergence, look: Look) -> list[Styled]:
    turn, instead = parted.turn, parted.instead
    lines: list[Styled] = [("title", f"Where your path left the program's: your step {parted.number}")]
    lines += [("plain", x) for x in look.wrap(_yours(drill, turn), 11, "You")]
    lines += [("say", x) for x in look.wrap(_programs(drill, turn, instead), 11, "Program")]
    lines += [("plain", ""), ("faint", "Why, with what was known then:")]
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
    return title(drill, step)


def _paths(drill: Drill, look: Look) -> list[Styled]:
    """The program's path, then the trainee's, in short lines."""
    yours = [f"{entry_name(drill, turn.kind, turn.name)[0]} ({turn.minutes:.0f})" for turn in drill.turns]
    programs = [
        f"{title(drill, p.step)} ({p.minutes:.0f})"
        for p in drill.car.path[drill.played :]
        if isinstance(p.step, (*CHECKS, steps.DoRepair))
    ]
    lines: list[Styled] = [("title", "Both paths on this car, minutes in brackets")]
    for name, path in (("Program", programs), ("You", yours)):
        lines += [("plain", x) for x in look.wrap(";  ".join(path) or "nothing", 10, name)]
    return lines


def data(drill: Drill, score: Score, at: str, by: str) -> dict[str, Any]:
    """The result to keep: what was hidden, what was done, and every figure by itself."""
    car = drill.car.comeback
    return {
        "drill": 1,
        "at": at,
        "by": by,
        "mode": drill.mode.value,
        "seed": drill.car.seed,
        "knowledge": drill.knowledge.version,
        "service": car.service,
        "complaint": car.complaint,
        "behind": sorted(drill.car.behind),
        "ended": score.ended,
        "safety": {"misses": list(score.safety), "told": drill.advice.word if drill.advice is not None else None},
        "efficiency": {
            "checks": score.checks, "program_checks": score.program_checks,
            "minutes": round(score.minutes, 2), "program_minutes": round(score.program_minutes, 2),
            "bits_per_check": round(score.bits, 4), "best_bits_per_check": round(score.best_bits, 4),
            "redundant_checks": score.redundant,
        },
        "conclusions": {
            "made": score.conclusions, "found": score.found, "program_unwarranted": score.program_unwarranted,
            "unwarranted": [{"kind": m.kind, "name": m.name, "open": dict(m.open)} for m in score.unwarranted],
        },
        "suspects": {"named": score.named, "with_a_true_cause": score.named_right},
        "hints": list(score.hint_levels),
        "diverged_at": score.divergence.number if score.divergence else None,
        "turns": list(_turns(drill)),
    }  # fmt: skip


def _turns(drill: Drill) -> Iterator[dict[str, Any]]:
    for turn in drill.turns:
        yield {
            "kind": turn.kind, "name": turn.name, "results": dict(turn.results), "minutes": round(turn.minutes, 2),
            "bits": round(turn.bits, 4), "best_bits": round(turn.best_bits, 4), "suspects": list(turn.suspects),
        }  # fmt: skip
