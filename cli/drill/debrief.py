"""The end of a drill: safety first, then repairs that came too soon, then minutes by themselves and what cost most."""

from comeback.cli.drill import words
from comeback.cli.drill.at_phone import REPLIES, WANTS
from comeback.cli.drill.words import INDENT, MOST_LINES, name_of, put, reasons, screens_of
from comeback.cli.look import Look, Styled
from comeback.cli.numbers import counted, percent
from comeback.cli.screens import wording
from comeback.cli.screens.cautions import cautions, gravest_first
from comeback.cli.screens.heading import shortened
from comeback.cli.screens.why import leading
from comeback.engine.drill.drill import GONE, Drill, Turn
from comeback.engine.drill.phone import NOTHING, PhoneDrill
from comeback.engine.drill.safety import MissKind
from comeback.engine.drill.score import Score, costliest
from comeback.engine.drill.worth import ALIKE, ALIKE_SHARE, CHECKS, STILL_OPEN, Verdict, Worth
from comeback.engine.walk import steps
from comeback.kb.vocabulary import EngineOff

MOST_SHOWN, MOST_TURNS = 3, 14
LEAST_SAVED = 0.5
"""Minutes of repair that a check saves, from which they are named."""
HAZARD_INDENT = 10
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
VERDICTS = {Verdict.SAME: "the program's step", Verdict.BETTER: "better", Verdict.AS_GOOD: "as good"}


def screens(drill: Drill, score: Score, look: Look, name: str = "") -> list[list[Styled]]:
    """Screens of at most MOST_LINES lines each."""
    out = [_first(drill, score, look, name), hazard_screen(drill, look), _minutes(drill, score, look)]
    lost = costliest(drill)
    if lost is not None and lost[1].worth is not None:
        out.append(_cost_most(drill, *lost, lost[1].worth, look))
    return [part for screen in out for part in screens_of(screen)]


def _first(drill: Drill, score: Score, look: Look, name: str) -> list[Styled]:
    """Safety, what it was, advice, promises or repairs, hints."""
    causes, names = drill.knowledge.causes, drill.knowledge.dispositions
    out: list[Styled] = [("faint", look.rule), ("title", f"Debrief: {score.ended}{f'   drill {name}' if name else ''}")]
    safety = "; ".join(score.safety) or "no miss"
    out += put(look, [("Safety", safety)], "caution" if score.safety else "plain")
    out += put(look, [("It was", "; ".join(causes[c].name for c in sorted(drill.car.behind)))], "say")
    driving = "no advice was given"
    if drill.advice is not None and drill.right is not None and drill.least is not None:
        given, right, least = (names[one].name for one in (drill.advice, drill.right, drill.least))
        verdict = "right" if score.advice else f"right: {right}; at least, by the signs: {least}"
        driving = f"your advice: {given}; {verdict}"
    out += put(look, [("Driving", driving), *_ending(drill, score)])
    for turn in [turn for turn in drill.turns if turn.too_soon][:MOST_SHOWN]:
        still = ", ".join(f"{causes[c].name} {percent(p)}" for c, p in turn.open[:MOST_SHOWN])
        repair = drill.knowledge.repairs[turn.name].name
        text = f"'{repair}' while other causes were still likely ({100 * STILL_OPEN:.0f} % or more): {still}"
        out += look.styled("say", text, INDENT + 2, " " * INDENT + "- ")
    return [*out, *put(look, [("Hints", f"{score.hints}" if score.hints else "")])]


def _ending(drill: Drill, score: Score) -> list[tuple[str, str]]:
    """Of a call what was promised and read back; at the car the repairs."""
    if isinstance(drill, PhoneDrill):
        promised = "; ".join(f'"{WANTS[want]}" say "{REPLIES[want][NOTHING]}"' for want in score.promised)
        done = "done" if score.read_back else "not done: repeat complaint, signs and advice, get the caller's yes"
        return [("Promised", promised or "nothing"), ("Read back", done)]
    found = "the cause was found" if score.found else "the cause was not found"
    made = f"{score.too_soon} of {score.repairs} too soon" if score.repairs else "none"
    return [("Repairs", f"{made}; {found}")]


def _minutes(drill: Drill, score: Score, look: Look) -> list[Styled]:
    """Checks and minutes, each step of the learner with what it was worth then, and the program's own path."""
    call = isinstance(drill, PhoneDrill)
    asked = counted(score.checks, "question" if call else "check")
    text = f"You: {asked}, {score.minutes:.0f} min. "
    text += f"The program: {score.program_checks}, {score.program_minutes:.0f} min."
    text += f" {counted(score.redundant, 'check')} showed nothing new." * bool(score.redundant)
    lines: list[Styled] = [("title", "Minutes"), *look.styled("plain", text)]
    lines += [] if call else look.styled("say", _verdict(score))
    lines += _steps(drill, look)
    named = [f"{words.title(drill.knowledge, p.step)} ({words.minutes(p.minutes)})" for p in drill.program
             if isinstance(p.step, (*CHECKS, steps.DoRepair))]  # fmt: skip
    path = "; ".join(named) or "no question after the danger signs"
    return [*lines, ("plain", ""), *put(look, [("The program", path)])]


def _verdict(score: Score) -> str:
    """The whole path beside the program's, in one sentence."""
    if score.shorter:
        return "Your path was shorter than the program's, and no repair came too soon. Well done."
    if not score.warranted and score.ended == GONE:
        return "The complaint is gone, but a repair came too soon: on another car this way costs more."
    if not score.warranted:
        return "The car was not fixed, so the minutes cannot be compared."
    if score.minutes <= score.program_minutes + ALIKE:
        return "As quick as the program. Well done."
    return f"{score.minutes - score.program_minutes:.0f} min more than the program."


def _steps(drill: Drill, look: Look) -> list[Styled]:
    """One line for each step: minutes, and whether it was as good as the program's by what was known then."""
    if not drill.turns:
        return [("plain", "You made no check.")]
    head = "Your steps beside the program's: minutes to the fixed car, by what was known then; "
    head += f"as good within {ALIKE:g} min or {100 * ALIKE_SHARE:.0f} %. Minutes of the step in parentheses."
    lines: list[Styled] = [("plain", ""), *look.styled("faint", head)]
    room = look.width - 1 - 30
    for number, turn in enumerate(drill.turns[:MOST_TURNS], 1):
        text, found = f"{_name(drill, turn)} ({words.minutes(turn.minutes)})", turn.worth
        note = VERDICTS.get(found.verdict, f"{found.lost:.0f} min more") if found is not None else ""
        note = "nothing new" if turn.redundant else note
        lines.append(("plain", f"{number:2d}  {shortened(text, room).ljust(room)}  {note}".rstrip()))
    more = len(drill.turns) - MOST_TURNS
    return [*lines, *([("faint", f"and {more} more")] if more > 0 else [])]


def _name(drill: Drill, turn: Turn) -> str:
    """Name of the check or repair that a turn made."""
    return f"{'repair: ' * (turn.kind == 'repair')}{name_of(drill.knowledge, turn.kind, turn.name)}"


def _cost_most(drill: Drill, number: int, turn: Turn, found: Worth, look: Look) -> list[Styled]:
    """Both steps, what each could show, and what yours cost beyond the other on average."""
    head = f"What cost most: your step {number}, about {found.lost:.0f} min more on average"
    lines: list[Styled] = look.styled("title", head)
    lines += put(look, [("Known then", leading(turn.walk))])
    told = f"{_name(drill, turn)}, {words.minutes(turn.minutes)} min{', showed nothing new' * turn.redundant}"
    lines += put(look, [("You", told)], "say")
    if turn.kind == "check" and len(turn.checks) == 1 and not turn.redundant:
        lines += reasons(turn.walk.with_step(steps.MakeCheck(turn.name, turn.minutes, 0.0, ())), look)
    lines += [("plain", ""), *put(look, [("Quicker", _quicker(drill, found.instead))], "say")]
    return [*lines, *reasons(turn.walk.with_step(found.instead), look)]


def _quicker(drill: Drill, step: steps.Step) -> str:
    """The program's step in words, with what it takes and saves."""
    named = words.title(drill.knowledge, step)
    match step:
        case steps.MakeCheck() | steps.LookRound() | steps.ReadPanel():
            saved = f", saves {words.minutes(step.saves)} min of repair on average" if step.saves >= LEAST_SAVED else ""
            return f"{named}: {words.minutes(step.minutes)} min{saved}"
        case steps.DoRepair(cures=cures):
            return f"{named}: cures {percent(cures)} of such cars"
        case steps.Advise():
            return f"ask no more; {named}"
    return named


def hazard_screen(drill: Drill, look: Look) -> list[Styled]:
    """The hazard of the miss that ended the drill, and what would have been right; empty if there was no miss."""
    if not drill.misses:
        return []
    miss, known = drill.misses[-1], drill.knowledge
    looked, car = drill.walk.view.results, drill.work.person.car  # before anybody looked: what the car has
    results = {sign: looked.get(sign) if drill.signs_seen else car.result(sign) for sign in miss.signs}
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
    step = f"{words.title(drill.knowledge, drill.walk.step)}." if hazard is MissKind.ENGINE else ""
    best = names[drill.best_advice()].name if hazard is MissKind.SILENT else ""
    return RIGHT[hazard].format(least=names[least].name, best=best, engine=" ".join(until), step=step)


def _row(look: Look, head: str, text: str, style: str = "plain") -> list[Styled]:
    """A head and its text, with a capital; nothing of an empty text."""
    return [(style, x) for x in look.wrap(f"{text[0].upper()}{text[1:]}", HAZARD_INDENT, head)] if text else []
