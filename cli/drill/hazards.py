"""After a safety stop: what the hazard is, what happens, how it is avoided, and what would have been right."""

from comeback.cli.drill.words import MOST_LINES, NOBODY_KNOWS
from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.cli.screens.cautions import cautions, gravest_first
from comeback.engine.drill.drill import Drill
from comeback.engine.drill.hints import hints
from comeback.engine.drill.miss import Miss, MissKind
from comeback.kb.vocabulary import EngineOff

INDENT = 10
MOST_SIGNS = 4
ON_THE_ROAD = "Whoever talks while driving does not watch the road. If the car is dangerous they are in danger now."
RISK = {
    MissKind.SIGNS: "A danger sign is there whether you look or not. Whoever begins to work first stands beside it: "
    "smoke, raw fuel, hot coolant under pressure, an engine that keeps racing.",
    MissKind.UNREAD: "A caution that is confirmed unread protects nobody. It stands there because of what this very "
    "work can do to you:",
    MissKind.ADVICE: "The customer goes by your advice. Told too little, they drive a car that can stop, burn or run "
    "away on the road.",
    MissKind.ENGINE: "With this sign every turn of the engine can do harm: it can feed a fire, throw parts or break "
    "the engine.",
    MissKind.DRIVING: ON_THE_ROAD,
    MissKind.TALKED: ON_THE_ROAD,
    MissKind.SILENT: "Without advice the caller decides alone, and most people drive on.",
    MissKind.TRIP: "A short trip is long enough to burn, to lose the brakes or to break the engine.",
}
"""What can happen, in our own words (common practice, no source)."""
RIGHT = {
    MissKind.SIGNS: "Type  signs  first, before any check or repair, on every car.",
    MissKind.UNREAD: "Read each one, make it so at the car, then type  safe . Type  b  if you cannot.",
    MissKind.ADVICE: "Give at least the advice that the danger sign asks for: {least}.",
    MissKind.ENGINE: "{engine} Here: {step}",
    MissKind.DRIVING: f'Ask first: "{wording.DRIVING}" Nothing else before that.',
    MissKind.TALKED: f'Have them stop before anything else: "{" ".join(wording.STOP_SAFELY)}"',
    MissKind.SILENT: "Give the advice on driving before the call ends: {best}.",
    MissKind.TRIP: "Say no, kindly, and offer to fetch the car.",
}
STAYS_OFF = {
    EngineOff.LOOKED: "The engine stays off until all that shows with the engine off has been looked at.",
    EngineOff.REPAIRED: "The engine stays off until what this sign points at is repaired.",
}


def screen(drill: Drill, look: Look) -> list[Styled]:
    """The hazard of the miss that ended the drill, and what would have been right; empty if there was no miss."""
    if not drill.misses:
        return []
    miss = drill.misses[-1]
    lines: list[Styled] = [("title", "Why the drill was stopped"), *_row(look, "What", miss.text, "caution")]
    lines += [*_row(look, "MissKind", RISK[miss.hazard]), *_row(look, "Signs", _signs(drill, miss))]
    right = _row(look, "Right", _right(drill, miss), "say")
    names = gravest_first(drill.walk, miss.cautions or _of_signs(drill, miss))
    warned = list(cautions(drill.walk, names, look))
    while names and len(lines) + len(warned) + len(right) > MOST_LINES:
        names = names[:-1]  # the gravest stay, each with its hazard and what happens
        warned = list(cautions(drill.walk, names, look))
    return [*lines, *warned, *right]


def _of_signs(drill: Drill, miss: Miss) -> tuple[str, ...]:
    """Cautions of the signs that were there; of all signs where none was looked at."""
    there = [sign for sign in miss.signs if _raised(drill, sign)] or list(miss.signs)
    return tuple(caution for sign in there for caution in drill.knowledge.checks[sign].cautions)


def _raised(drill: Drill, sign: str) -> bool:
    return _result(drill, sign) not in (None, drill.knowledge.checks[sign].expected)


def _result(drill: Drill, sign: str) -> str | None:
    """What was found; before anybody looked, what the car has."""
    found = drill.walk.view.results.get(sign)
    return found if drill.signs_seen else drill.work.person.car.result(sign)


def _signs(drill: Drill, miss: Miss) -> str:
    """The danger signs of the miss with what is there."""
    known = drill.knowledge.checks
    results = {sign: _result(drill, sign) for sign in miss.signs if _raised(drill, sign)}
    there = [f"{known[s].name}: {known[s].results[r] if r else NOBODY_KNOWS}" for s, r in results.items()]
    if there:
        return f"There was: {'; '.join(there[:MOST_SIGNS])}."
    names = "; ".join(known[sign].name for sign in miss.signs[:MOST_SIGNS])
    return f"On this car none was there, by luck: {names}." if names else ""


def _right(drill: Drill, miss: Miss) -> str:
    names, least = drill.knowledge.dispositions, drill.least if drill.least is not None else drill.floor()
    until = dict.fromkeys(STAYS_OFF[one] for sign, one in drill.walk.view.engine_off.items() if sign in miss.signs)
    step = hints(drill.walk)[2] if miss.hazard is MissKind.ENGINE else ""
    best = names[drill.best_advice()].name if miss.hazard is MissKind.SILENT else ""
    return RIGHT[miss.hazard].format(least=names[least].name, best=best, engine=" ".join(until), step=step)


def _row(look: Look, head: str, text: str, style: str = "plain") -> list[Styled]:
    return [(style, x) for x in look.wrap(f"{text[0].upper()}{text[1:]}", INDENT, head)] if text else []
