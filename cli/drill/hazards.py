"""After a safety stop: what the hazard is, what happens, how it is avoided, and what would have been right."""

from comeback.cli.drill.screens import MOST_LINES
from comeback.cli.drill.story import STAYS_OFF
from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.cli.screens.cautions import cautions, gravest_first
from comeback.engine.drill.drill import Drill
from comeback.engine.drill.hints import hints
from comeback.engine.drill.miss import Hazard, Miss
from comeback.kb.schema import Check

INDENT = 10
MOST_SIGNS = 4
RISK = {
    Hazard.SIGNS: "A danger sign is there whether you look or not. Whoever begins to work first stands beside it: "
    "smoke, raw fuel, hot coolant under pressure, an engine that keeps racing.",
    Hazard.UNREAD: "A caution that is confirmed unread protects nobody. It stands there because of what this very "
    "work can do to you:",
    Hazard.ADVICE: "The customer goes by what he is told. Told too little, he drives a car that can stop, burn or run "
    "away on the road.",
    Hazard.ENGINE: "With this sign every turn of the engine can do harm: it can feed a fire, throw parts or break the "
    "engine.",
    Hazard.DRIVING: "Whoever talks while driving does not watch the road. If the car is dangerous he is in danger now.",
    Hazard.TALKED: "Whoever talks while driving does not watch the road. If the car is dangerous he is in danger now.",
    Hazard.SILENT: "Without advice he decides by himself, and most people drive on.",
    Hazard.TRIP: "A short trip is long enough to burn, to lose the brakes or to break the engine.",
    Hazard.OTHER: "",
}
"""What can happen, in our own words (common practice, no source)."""
RIGHT = {
    Hazard.SIGNS: "Type  signs  first, before any check or repair, on every car.",
    Hazard.UNREAD: "Read each one, make it so at the car, then type  safe . Type  b  if you cannot.",
    Hazard.ADVICE: "Tell at least what the danger sign asks for: {least}.",
    Hazard.ENGINE: "{engine} Here: {step}",
    Hazard.DRIVING: f'Ask first: "{wording.DRIVING}" Nothing else before that.',
    Hazard.TALKED: f'Have him stop before anything else: "{" ".join(wording.STOP_SAFELY)}"',
    Hazard.SILENT: "Tell him about driving before the call ends: {best}.",
    Hazard.TRIP: "Say no, kindly, and offer to fetch the car.",
    Hazard.OTHER: "",
}


def screen(drill: Drill, look: Look) -> list[list[Styled]]:
    """The hazard of the miss that ended the drill, and what would have been right; none if there was no miss."""
    if not drill.misses:
        return []
    miss = drill.misses[-1]
    lines: list[Styled] = [("title", "Why the drill was stopped")]
    for head, text, style in (
        ("What", miss.text, "caution"),
        ("Hazard", RISK[miss.hazard], "plain"),
        ("Signs", _signs(drill, miss), "plain"),
    ):
        lines += _row(look, head, text, style)
    right = _row(look, "Right", _right(drill, miss), "say")
    names = gravest_first(drill.walk, miss.cautions or _told_by_signs(drill, miss))
    told = list(cautions(drill.walk, names, look))
    while names and len(lines) + len(told) + len(right) > MOST_LINES:
        names = names[:-1]  # the gravest stay, each with its hazard and what happens
        told = list(cautions(drill.walk, names, look))
    return [[*lines, *told, *right]]


def _told_by_signs(drill: Drill, miss: Miss) -> tuple[str, ...]:
    """Cautions of the signs that were there; of all signs where none was looked at."""
    checks = drill.knowledge.checks
    there = [sign for sign in miss.signs if _raised(drill, sign)] or list(miss.signs)
    return tuple(caution for sign in there for caution in checks[sign].cautions)


def _raised(drill: Drill, sign: str) -> bool:
    result = _result(drill, sign)
    return result is not None and result != drill.knowledge.checks[sign].expected


def _result(drill: Drill, sign: str) -> str | None:
    """What was found; before anybody looked, what the car has."""
    found = drill.walk.situation.results.get(sign)
    return found if drill.signs_seen else drill.work.person.car.result(sign)


def _signs(drill: Drill, miss: Miss) -> str:
    """The danger signs of the miss with what is there."""
    known = drill.knowledge.checks
    there = [f"{known[s].name}: {_label(known[s], _result(drill, s))}" for s in miss.signs if _raised(drill, s)]
    if there:
        return f"There was: {'; '.join(there[:MOST_SIGNS])}."
    names = "; ".join(known[sign].name for sign in miss.signs[:MOST_SIGNS])
    return f"On this car none was there, by luck: {names}." if names else ""


def _label(check: Check, result: str | None) -> str:
    return check.results[result] if result is not None else "nobody could tell"


def _right(drill: Drill, miss: Miss) -> str:
    words, least = drill.knowledge.dispositions, drill.least if drill.least is not None else drill.floor()
    until = [STAYS_OFF[one] for sign, one in drill.walk.situation.engine_off.items() if sign in miss.signs]
    step = hints(drill.walk)[2] if miss.hazard is Hazard.ENGINE else ""
    best = words[drill.best_advice()].name if miss.hazard is Hazard.SILENT else ""
    return RIGHT[miss.hazard].format(
        least=words[least].name, best=best, engine=" ".join(dict.fromkeys(until)), step=step
    )


def _row(look: Look, head: str, text: str, style: str) -> list[Styled]:
    return [(style, x) for x in look.wrap(f"{text[0].upper()}{text[1:]}", INDENT, head)] if text else []
