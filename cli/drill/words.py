"""Minutes and reasons in the words of the trade: what is in a price, why a step, how much a finding counts."""

from comeback.cli.screens import wording
from comeback.engine.case.case import Answer
from comeback.engine.drill.drill import Drill, Turn
from comeback.engine.drill.price import Price, check_price, repair_price
from comeback.engine.errors import EngineError
from comeback.engine.walk import explanation, steps
from comeback.engine.walk.second_look import fit, slip_chance
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

MOST_RESULTS = 3
"""Results of a check whose meaning is told."""
STRONG, CLEAR = 10.0, 5.0
"""Decibans from which a finding speaks strongly (10 to 1) or clearly (3 to 1); our words for them."""
RARE, LITTLE, RISE = 0.01, 0.02, 0.03
"""Results rarer than this are passed over; changes smaller than this are little; a rise from which it is told."""


def minutes(value: float) -> str:
    """Minutes as they are said: 14, 2.5."""
    return f"{round(value, 1):g}"


def price(drill: Drill, kind: str, name: str) -> str:
    """What a check or repair takes and what is in it, for the list it is chosen from."""
    if kind == "check":
        return _priced(drill, check_price(drill.walk, drill.group(name)))
    total = repair_price(drill.walk, name)
    return _priced(drill, total) if total.total else "only a specialist may do it"


def _priced(drill: Drill, found: Price) -> str:
    parts = []
    if found.set_up:
        names = ", ".join(name.replace("-", " ") for name in found.set_ups)  # their full names are sentences
        parts.append(f"{minutes(found.set_up)} set-up ({names})")
    if found.parts:
        parts.append(f"{minutes(found.parts)} for parts of {found.money:g}")
    if found.proof:
        parts.append(f"{minutes(found.proof)} proof")
    if not parts:
        return f"{minutes(found.total)} min"
    return f"{minutes(found.total)} min: {minutes(found.work + found.handling)} work, {', '.join(parts)}"


def spent(drill: Drill, turn: Turn) -> str:
    """What a turn took and what was in it; only the minutes where somebody had to look twice."""
    found = check_price(turn.walk, turn.checks) if turn.kind == "check" else repair_price(turn.walk, turn.name)
    alike = abs(found.total - turn.minutes) < 0.05
    return _priced(drill, found) if alike else f"{minutes(turn.minutes)} min"


def count(number: int, word: str) -> str:
    """1 check, 2 checks."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def of_hundred(p: float) -> str:
    """A chance as cars of a hundred."""
    return "under 1" if 0 < p < 0.005 else f"{100 * p:.0f}"


def leading(walk: Walk, most: int = 2) -> str:
    """What is most probable now, in one sentence."""
    try:
        top = walk.situation.repair_candidates(0.01)[:most]
    except EngineError:
        top = []
    if not top:
        return "No known cause stands out yet."
    causes = walk.knowledge.causes
    first, *rest = [f"{causes[c].name}, {of_hundred(p)}" for c, p in top]
    return f"Of 100 such cars: {first}" + (f"; {'; '.join(rest)}." if rest else ".")


def reasons(walk: Walk, step: steps.Step) -> list[str]:
    """Why this step is made now: sentences, the most telling first."""
    match step:
        case steps.DangerScreen(checks) if all(walk.knowledge.checks[check].runs_engine for check in checks):
            return ["These show only with the engine running. So they come after the other signs, and only because "
                    "none of those keeps the engine off."]  # fmt: skip
        case steps.DangerScreen():
            return ["Danger to people comes before everything else. What is found here sets the least that the "
                    "customer is told; nothing found later makes it milder."]  # fmt: skip
        case steps.MakeCheck(check=check, again=str(found)):
            return [_doubt(walk, check, found), *_tells(walk, check)]
        case steps.MakeCheck(check=check):
            return _tells(walk, check)
        case steps.ReadPanel():
            return ["Stored codes tell in one go what the engine computer complains of; none stored tells something "
                    "too."]  # fmt: skip
        case steps.ProveRepair(check=check, result=result):
            wanted = walk.knowledge.checks[check].results[result]
            return [f"A repair counts only when it is proven, else the car comes back. It should be: {wanted}."]
        case steps.DoRepair():
            return _repair(walk, step)
        case steps.ChooseCondition():
            return ["How the car is built decides which causes it can have and which checks it allows."]
        case steps.TakeOneBack():
            return ["Two findings cannot both be true: one of them is looked at again."]
        case steps.HandOver(reason=reason):
            return [f"{reason[0].upper()}{reason[1:]}."]
        case steps.Advise():
            return ["No further question would change what he is told about driving."]
    return []


def cost(walk: Walk, step: steps.Step, spent: float) -> str:
    """What the step takes, and what it saves where that is known."""
    said = f"{minutes(spent)} min"
    if isinstance(step, steps.MakeCheck):
        said += f", {wording.TIERS[walk.knowledge.checks[step.check].tier.name.lower()]}"
    if isinstance(step, steps.MakeCheck | steps.ReadPanel) and step.saves >= 0.5:
        said += f"; saves {minutes(step.saves)} min of needless repair on average"
    if isinstance(step, steps.DoRepair):
        said += f" without proof; cures {of_hundred(step.cures)} of 100 such cars"
    return said


def _tells(walk: Walk, check: str) -> list[str]:
    """What each likely result would point at: the cause that it makes more likely, or less."""
    results, causes = walk.knowledge.checks[check].results, walk.knowledge.causes
    out = []
    try:
        found = explanation.outlooks(walk.situation, check, most=6)
    except EngineError:
        return []
    for outlook in sorted(found, key=lambda o: -o.chance)[:MOST_RESULTS]:
        if outlook.chance < RARE or not outlook.moves:
            continue
        cause, before, after = max(outlook.moves, key=lambda move: move[2] - move[1])
        if after - before < RISE:
            cause, before, after = outlook.moves[0]
        label = f'"{results[outlook.result]}" ({of_hundred(outlook.chance)} of 100 cars)'
        if abs(after - before) < LITTLE:
            out.append(f"{label} would change little.")
        else:
            way = "points to" if after > before else "speaks against"
            out.append(f"{label} {way} {causes[cause].name}: {of_hundred(before)}, then {of_hundred(after)} of 100.")
    return out


def _doubt(walk: Walk, check: str, found: str) -> str:
    answer = walk.case.answer(check) or Answer(check, found, 0, 0, "", "", Audience.PHONE)  # the complaint's own
    slip = slip_chance(walk.situation, answer, fit(walk.situation, check))
    label = walk.knowledge.checks[check].results[found]
    return (f'"{label}" hardly fits all the rest: in {of_hundred(slip)} of 100 such cars somebody looked wrong. '
            "So look once more before a long repair.")  # fmt: skip


def _repair(walk: Walk, step: steps.DoRepair) -> list[str]:
    removes = walk.knowledge.repairs[step.repair].removes
    top = next((c for c, _ in walk.situation.repair_candidates(0.01) if c in removes), None)
    out = ["No check saves more time now than it costs, so it is time for a repair."]
    if top is None:
        return out
    chance = dict(walk.situation.repair_candidates(0.01))[top]
    out = [f"{walk.knowledge.causes[top].name}: {of_hundred(chance)} of 100 such cars. {out[0]}"]
    for weight in explanation.weights_of_evidence(walk.situation, top)[:2]:
        check = walk.knowledge.checks[weight.check]
        out.append(f"{check.name}, {check.results[weight.result]}: {counts(weight.decibans)}.")
    return out


def counts(decibans: float) -> str:
    """How much a finding counts for or against a cause, with the odds that it gives by itself."""
    size = abs(decibans)
    much = "strongly" if size >= STRONG else "clearly" if size >= CLEAR else "a little"
    factor = 10 ** (size / 10)
    if factor < 1.5:
        return "hardly counts for it or against it"
    to_one = f"about {factor:.0f} to 1" if factor < 1000 else "more than 1000 to 1"
    return f"speaks {much} {'for' if decibans > 0 else 'against'} it, {to_one}"
