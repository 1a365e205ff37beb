"""The answer to "why": what leads, and what each result would change, in a few whole sentences."""

from comeback.cli.look import Look, Styled
from comeback.cli.numbers import percent
from comeback.cli.screens import wording
from comeback.cli.screens.heading import shortened
from comeback.engine.errors import EngineError
from comeback.engine.walk import explanation, steps
from comeback.engine.walk.second_look import slip_of
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

MOST_LINES = 7
NONE_LEADS = "No known cause leads yet."
STRONG, CLEAR = 10.0, 5.0
"""Decibans from which a finding speaks strongly (10 to 1) or clearly (3 to 1); our words for them."""


def why(walk: Walk, look: Look) -> list[Styled]:
    """Why this step, in at most MOST_LINES lines."""
    lines = [wording.WHY_OTHER]
    match walk.step:
        case steps.MakeCheck(check=check, again=str(found)):
            slip = slip_of(walk.view, check, str(found))
            label = shortened(walk.knowledge.checks[check].results[found], 30)
            doubt = f"{label}: judging by the rest, wrong in about {round(100 * slip)} of 100 such cars."
            lines = [doubt, *_check(walk, check)]
        case steps.MakeCheck(check=check) | steps.ProveRepair(check=check) | steps.LookRound((check, *_)):
            lines = _check(walk, check)
        case steps.ReadPanel():
            lines = [*_leading(walk), wording.WHY_CODES]
        case steps.DangerScreen():
            lines = [wording.WHY_DANGER]
        case steps.DoRepair() as step:
            lines = _repair(walk, step)
        case steps.Advise() as step:
            lines = _advice(walk, step)
        case steps.ChooseCondition():
            lines = [wording.WHY_CONDITION]
        case steps.HandOver() | steps.CloseCase():
            lines = _leading(walk)
    wrapped: list[Styled] = []
    for line in lines:  # whole sentences only: half of one says something else
        more = look.styled("plain", line, 4)
        if not wrapped or len(wrapped) + len(more) <= MOST_LINES:
            wrapped += more
    return wrapped


def leading(walk: Walk, most: int = 3, room: int = 80) -> str:
    """The likeliest causes now, their names in `room` characters; and that a car can have more than one, if so."""
    try:
        top = walk.view.repair_candidates(0.01)[:most]
    except EngineError:
        top = []
    named = "; ".join(f"{shortened(walk.knowledge.causes[c].name, room)} {percent(p)}" for c, p in top)
    several = " (a car can have more than one)" if sum(chance for _, chance in top) > 1 else ""
    return f"{named}{several}" if top else NONE_LEADS


def _leading(walk: Walk) -> list[str]:
    told = leading(walk, 2, 32)
    return [told if told == NONE_LEADS else f"Leading: {told}"]


def _check(walk: Walk, check: str) -> list[str]:
    lines, results = _leading(walk), walk.knowledge.checks[check].results
    remedy = walk.knowledge.checks[check].remedy
    if remedy is not None and walk.audience is Audience.PHONE and isinstance(walk.step, steps.MakeCheck):
        chance = walk.step.chances[list(results).index(remedy.result)]
        lines.append(f"The caller can do this alone. In {percent(chance)} of such calls it helps and spares the visit.")
    found = explanation.result_effects(walk.view, check, most=1)
    for effect in sorted(found, key=lambda o: -o.chance)[: MOST_LINES - 2]:
        for cause, before, after in effect.moves:
            name, label = shortened(walk.knowledge.causes[cause].name, 30), shortened(results[effect.result], 22)
            lines.append(f"{label} ({percent(effect.chance)}): {name} {percent(before)} to {percent(after)}")
    return lines


def _repair(walk: Walk, step: steps.DoRepair) -> list[str]:
    lines = _leading(walk)
    removes = walk.knowledge.repairs[step.repair].removes
    for cause in [cause for cause, _ in walk.view.repair_candidates(0.01) if cause in removes][:1]:
        for weight in explanation.weights_of_evidence(walk.view, cause)[:2]:
            check = walk.knowledge.checks[weight.check]
            lines.append(f"{check.name}, {check.results[weight.result]}: {counts(weight.decibans)}.")
    if not step.expected_minutes:  # chosen by a person, so nothing was planned from here
        return lines
    figures = f"about {step.expected_minutes:.0f} min in all; no order can beat {step.bound:.0f}"
    return [*lines, "No check saves more time than it costs now.", f"From here {figures}."]


def counts(decibans: float) -> str:
    """How much a finding counts for or against a cause, with the odds that it gives by itself."""
    size = abs(decibans)
    much, factor = "strongly" if size >= STRONG else "clearly" if size >= CLEAR else "a little", 10 ** (size / 10)
    to_one = f"about {factor:.0f} to 1" if factor < 1000 else "more than 1000 to 1"
    side = "for" if decibans > 0 else "against"
    return f"speaks {much} {side} it, {to_one}" if factor >= 1.5 else "hardly counts for it or against it"


def _advice(walk: Walk, step: steps.Advise) -> list[str]:
    names = walk.knowledge.dispositions
    chances = sorted(step.needed.items(), key=lambda pair: -pair[1])[:3]
    shares = "; ".join(f"{names[d].name} {percent(p)}" for d, p in chances)
    lines = [f"Chance that it is needed: {shares}"] if shares else ["The findings contradict each other."]
    if step.flags:
        flags = ", ".join(walk.knowledge.checks[flag].name for flag in step.flags)
        lines.append(f"Danger signs set the floor: {flags}.")
    lines.append("Sending a dangerous car onto the road counts far more than an unneeded tow.")
    return [*lines, *_leading(walk)]
