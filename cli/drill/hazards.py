"""After a safety stop: what the hazard is, what happens, how it is avoided, and what would have been right."""

from comeback.cli.drill.words import MOST_LINES, title
from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.cli.screens.cautions import cautions, gravest_first
from comeback.engine.drill.drill import Drill
from comeback.engine.drill.safety import MissKind
from comeback.kb.vocabulary import EngineOff

INDENT = 10
MOST_SIGNS = 4
ON_THE_ROAD = "Anyone talking while driving is not watching the road. If the car is dangerous, they are in danger now."
RISK = {
    MissKind.SIGNS: "A danger sign is there whether you look or not. If you start work first you are standing next to "
    "it: smoke, raw fuel, hot coolant under pressure, an engine that keeps racing.",
    MissKind.UNREAD: "A caution confirmed unread protects nobody. It is there because of what this job can do to you:",
    MissKind.ADVICE: "The customer goes by your advice. If it is too mild, they drive a car that can stall, catch fire "
    "or run away on the road.",
    MissKind.ENGINE: "With this sign, running the engine at all can do harm: feed a fire, throw parts or wreck the "
    "engine.",
    MissKind.DRIVING: ON_THE_ROAD,
    MissKind.TALKED: ON_THE_ROAD,
    MissKind.SILENT: "Without advice the caller has to guess, and most people keep driving.",
    MissKind.TRIP: "A short trip is long enough to catch fire, lose the brakes or wreck the engine.",
}
"""What can happen, in our own words (common practice, no source)."""
RIGHT = {
    MissKind.SIGNS: "Type  signs  first, before any check or repair, on every car.",
    MissKind.UNREAD: "Read each one, do it at the car, then type  safe . Type  b  if you cannot.",
    MissKind.ADVICE: "Give at least the advice that the danger sign asks for: {least}.",
    MissKind.ENGINE: "{engine} Here: {step}",
    MissKind.DRIVING: f'Ask first: "{wording.DRIVING}" Nothing else before that.',
    MissKind.TALKED: f'Have them stop before anything else: "{" ".join(wording.STOP_SAFELY)}"',
    MissKind.SILENT: "Give the advice on driving before the call ends: {best}.",
    MissKind.TRIP: "Say no politely, and offer to pick the car up.",
}
STAYS_OFF = {
    EngineOff.LOOKED: "The engine stays off until everything that can be checked with it off has been checked.",
    EngineOff.REPAIRED: "The engine stays off until what this sign points to is repaired.",
}


def screen(drill: Drill, look: Look) -> list[Styled]:
    """The hazard of the miss that ended the drill, and what would have been right; empty if there was no miss."""
    if not drill.misses:
        return []
    miss, known = drill.misses[-1], drill.knowledge
    results = {sign: _result(drill, sign) for sign in miss.signs}
    there = {s: r for s, r in results.items() if r not in (None, known.checks[s].expected)}
    lines: list[Styled] = [("title", "Why the drill was stopped"), *_row(look, "What", miss.text, "caution")]
    lines += [*_row(look, "Hazard", RISK[miss.hazard]), *_row(look, "Signs", _signs(drill, there, miss.signs))]
    right = _row(look, "Right", _right(drill, miss.hazard, miss.signs), "say")
    of_signs = (caution for sign in there or miss.signs for caution in known.checks[sign].cautions)
    names = gravest_first(drill.walk, miss.cautions or tuple(of_signs))
    warned = list(cautions(drill.walk, names, look))
    while names and len(lines) + len(warned) + len(right) > MOST_LINES:
        names = names[:-1]  # the gravest stay, each with its hazard and what happens
        warned = list(cautions(drill.walk, names, look))
    return [*lines, *warned, *right]


def _result(drill: Drill, sign: str) -> str | None:
    """What was found; before anybody looked, what the car has."""
    return drill.walk.view.results.get(sign) if drill.signs_seen else drill.work.person.car.result(sign)


def _signs(drill: Drill, there: dict[str, str], signs: tuple[str, ...]) -> str:
    """The danger signs of the miss with what was there."""
    known = drill.knowledge.checks
    if there:
        shown = [f"{known[s].name}: {known[s].results[r]}" for s, r in there.items()]
        return f"There was: {'; '.join(shown[:MOST_SIGNS])}."
    names = "; ".join(known[sign].name for sign in signs[:MOST_SIGNS])
    return f"By luck, this car had none: {names}." if names else ""


def _right(drill: Drill, hazard: MissKind, signs: tuple[str, ...]) -> str:
    """What would have been right; how the text is filled hangs on the kind of miss."""
    names, least = drill.knowledge.dispositions, drill.least if drill.least is not None else drill.floor()
    until = dict.fromkeys(STAYS_OFF[one] for sign, one in drill.walk.view.engine_off.items() if sign in signs)
    step = f"{title(drill.knowledge, drill.walk.step)}." if hazard is MissKind.ENGINE else ""
    best = names[drill.best_advice()].name if hazard is MissKind.SILENT else ""
    return RIGHT[hazard].format(least=names[least].name, best=best, engine=" ".join(until), step=step)


def _row(look: Look, head: str, text: str, style: str = "plain") -> list[Styled]:
    return [(style, x) for x in look.wrap(f"{text[0].upper()}{text[1:]}", INDENT, head)] if text else []
