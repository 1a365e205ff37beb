"""What a trainee sees during a drill, as lines of text; nothing is printed here."""

from collections.abc import Mapping, Sequence

from comeback.cli.cautions import cautions
from comeback.cli.look import Look, Styled
from comeback.cli.screens import step_cautions
from comeback.engine import steps
from comeback.engine.drill import Drill, Turn
from comeback.engine.drill_hints import LEVELS
from comeback.engine.hidden_car import Played
from comeback.kb.vocabulary import FEATURE_VALUES, Disposition

MOST_LINES = 22
KEYS = "words: check or repair   signs   suspect ..   cause .."
HELP = (
    "Find out what is wrong with the car, in your own order, and repair it.",
    "  any words            find checks and repairs; then type the number",
    "  check ID, repair ID  the same without the list, if you know the id",
    "  signs                look at the danger signs",
    "  suspect WORDS        name up to three suspects before the next check",
    "  cause WORDS          say what it is; noted as your conclusion",
    "  hint                 a hint in three levels, counted; none in free and exam",
    "  r                    what has been found so far",
    "  hand-over            give the car on; this ends the drill",
    "  q                    stop; go on later with: comeback drill --resume",
    "What ends the drill at once: working before you looked at the danger signs,",
    "confirming cautions unread, telling the customer less than the signs allow.",
)
GATE = "Type  safe  when you have read it and made it so.   b back"
TELL = "What is the customer told about driving until it is repaired? Type a number."


def start(drill: Drill, look: Look, name: str = "") -> list[Styled]:
    """The order as it lies on the bench; `name` of the drill, to go on with later."""
    name = name or f"{drill.mode.value}, seed {drill.car.seed}"
    lines: list[Styled] = [("faint", look.rule), ("title", f"Drill: {name}")]
    lines += [("plain", line) for title, text in story(drill) for line in look.wrap(text, 14, f"  {title}")]
    lines += [("plain", ""), *(("say", line) for line in look.wrap("Find the cause and repair it."))]
    return [*lines, *keys(drill, look)]


def story(drill: Drill) -> tuple[tuple[str, str], ...]:
    """(title, text) of what the order says."""
    known, car = drill.knowledge, drill.car.comeback
    complaint = known.complaints[car.complaint]
    return (
        ("Service", known.services[car.service].name),
        ("Complaint", f'{complaint.name}: "{complaint.words[0]}"'),
        ("The car", "; ".join(f"{feature} {FEATURE_VALUES[value]}" for feature, value in car.vehicle)),
    )


def hint(drill: Drill, text: str, look: Look) -> list[Styled]:
    """A hint with its level, and how many there have been."""
    level = int(drill.hints[-1].partition(":")[2])
    count = f"hint {level} of 3 ({LEVELS[level - 1]}); hints so far: {len(drill.hints)}"
    return [*(("say", line) for line in look.wrap(text)), ("faint", count)]


def keys(drill: Drill, look: Look) -> list[Styled]:
    """The line of keys under every screen."""
    return [("faint", f"{KEYS}{'   hint' if drill.mode.hints else ''}   q stop   ? help")]


def signs(drill: Drill, results: Mapping[str, str | None], look: Look) -> list[Styled]:
    """The danger signs: those that are there one by one, the others in one paragraph."""
    if not results:
        return [("plain", "This complaint has no danger signs on this car.")]
    known = drill.knowledge.checks
    lines: list[Styled] = [("title", "Danger signs")]
    calm = [check for check, result in results.items() if result not in known[check].red_flag]
    for check, result in results.items():
        if check not in calm:
            text = f"{known[check].name}: {known[check].results[result or known[check].expected]}"
            lines += [("say", line) for line in look.wrap(text, 4, f"  {look.alert} ")]
    names = "; ".join(known[check].name for check in calm)
    return [*lines, *(("plain", line) for line in look.wrap(f"None at: {names}" if calm else "All of them.", 4, "  "))]


def tell(drill: Drill, look: Look) -> list[Styled]:
    """The question what the customer is told."""
    lines: list[Styled] = [("title", line) for line in look.wrap(TELL)]
    for level in Disposition:
        lines.append(("plain", f"   {level + 1}   {drill.knowledge.dispositions[level].name}"))
    return lines


def gate(drill: Drill, title: str, names: Sequence[str], look: Look) -> list[Styled]:
    """Cautions on a screen of their own; all words and commands stand, the reasons as far as there is room."""
    head: list[Styled] = [("title", line) for line in look.wrap(f"Read this first: {title}")]
    told = list(cautions(drill.walk, names, look))
    if len(told) + len(head) + 1 > MOST_LINES:
        told = list(cautions(drill.walk, names, look, short=True))
    return [*head, *told, ("faint", GATE)]


def found(drill: Drill, names: Sequence[tuple[str, str]], look: Look) -> list[Styled]:
    """Entries that words may mean, with their numbers."""
    lines: list[Styled] = []
    for number, (kind, name) in enumerate(names, 1):
        text, minutes = entry_name(drill, kind, name)
        tail = f"  ({minutes:g} min)" if minutes else ""
        lines += [("plain", line) for line in look.wrap(f"{text}{tail}", 14, f"   {number}   {kind:7}")]
    return [*lines, ("faint", "type a number, or other words")]


def entry_name(drill: Drill, kind: str, name: str) -> tuple[str, float]:
    """Name and own minutes of a check (of its panel, if it has one), repair or cause."""
    known = drill.knowledge
    if kind == "check":
        panel = known.checks[name].panel
        entry = known.panels[panel] if panel else known.checks[name]
        return entry.name, entry.minutes
    if kind == "repair":
        return known.repairs[name].name, known.repairs[name].minutes
    return known.causes[name].name, 0.0


def result(drill: Drill, turn: Turn, look: Look) -> list[Styled]:
    """What the turn showed and took."""
    lines: list[Styled] = []
    if turn.kind == "repair":
        lines.append(("title", f"Repaired: {drill.knowledge.repairs[turn.name].name}"))
    for check, shown in abnormal(drill, turn.results, turn.kind == "repair" or len(turn.results) == 1):
        entry = drill.knowledge.checks[check]
        text = f"{entry.name}: {entry.results[shown]}"
        lines += [("say", line) for line in look.wrap(text, 4)]
    if not lines:
        lines.append(("say", f"{entry_name(drill, turn.kind, turn.name)[0]}: nothing stored"))
    if turn.kind == "repair" and not drill.ended:
        lines.append(("plain", "The complaint is still there."))
    lines.append(("faint", f"{turn.minutes:.1f} min; {drill.work.minutes:.0f} min so far"))
    return lines


def abnormal(drill: Drill, results: Mapping[str, str | None], every: bool) -> list[tuple[str, str]]:
    """(check, result) of the results that are not as expected, or of every one."""
    known = drill.knowledge.checks
    return [(c, r) for c, r in results.items() if r is not None and (every or r != known[c].expected)]


def review(drill: Drill, look: Look) -> list[Styled]:
    """What has been found so far, the latest last; what is as expected in one line each."""
    rows: list[Styled] = []
    if drill.signs_seen:
        rows += signs(drill, drill.look_at_signs(), look)
    for turn in drill.turns:
        for check, shown in abnormal(drill, turn.results, len(turn.results) == 1):
            entry = drill.knowledge.checks[check]
            rows += [("plain", line) for line in look.wrap(f"{entry.name}: {entry.results[shown]}", 4, "  ")]
    if not drill.signs_seen:
        rows.append(("say", "Danger signs have not been looked at."))
    return [("title", "Found so far"), *rows[-MOST_LINES + 3 :], ("faint", f"{drill.work.minutes:.0f} min so far")]


def played(drill: Drill, number: int, step: Played, look: Look) -> list[Styled]:
    """One step of the program: what it does, why, and what it showed."""
    from comeback.cli.reasons import why

    known = drill.knowledge
    lines: list[Styled] = [
        ("faint", look.rule),
        ("title", f"Step {number} of {len(drill.car.path)}: {title(drill, step.step)}"),
    ]
    lines += cautions(step.walk, step_cautions(step.walk), look, short=True)
    lines += [("plain", line) for _, line in why(step.walk, look)]
    after = drill.car.path[number].walk if number < len(drill.car.path) else None
    if isinstance(step.step, steps.DoRepair):
        lines += [("say", line) for line in look.wrap("Done; its proof and the complaint are looked at next.")]
    elif after is not None:
        results = {c: after.situation.results.get(c) for c in checks_of(step.step)}
        shown = abnormal(drill, results, len(results) == 1)
        texts = [f"{known.checks[c].name}: {known.checks[c].results[r]}" for c, r in shown] or ["Nothing abnormal"]
        lines += [("say", line) for text in texts for line in look.wrap(text, 8, "  Shows ")]
    return [*lines, ("faint", f"{step.minutes:.1f} min")]


def checks_of(step: steps.Step) -> tuple[str, ...]:
    """The checks that a step answers."""
    match step:
        case steps.DangerScreen(checks) | steps.ReadPanel(checks=checks):
            return checks
        case steps.MakeCheck(check=check) | steps.ProveRepair(check=check):
            return (check,)
    return ()


def title(drill: Drill, step: steps.Step) -> str:
    """A step of the program in a few words."""
    known = drill.knowledge
    match step:
        case steps.DangerScreen():
            return "look at the danger signs"
        case steps.MakeCheck(check=check):
            return known.checks[check].name
        case steps.ReadPanel(panel=panel):
            return known.panels[panel].name
        case steps.DoRepair(repair=repair):
            return f"repair: {known.repairs[repair].name}"
        case steps.ProveRepair(check=check):
            return f"proof: {known.checks[check].name}"
        case steps.Advise(disposition=told):
            return f"tell about driving: {known.dispositions[told].name}"
        case steps.HandOver():
            return "hand the car over"
    return "close the case"
