"""What a trainee sees during a drill, as lines of text; nothing is printed here."""

from collections.abc import Iterator, Mapping, Sequence

from comeback.cli.drill import words
from comeback.cli.look import Look, Styled
from comeback.cli.screens.cautions import cautions
from comeback.engine.drill.drill import Drill, Turn
from comeback.engine.drill.hints import LEVELS
from comeback.engine.walk import steps
from comeback.kb.vocabulary import FEATURE_NAMES, FEATURE_VALUES, Disposition

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
    "confirming cautions unread twice, telling the customer less than the signs ask",
    "for, running the engine while a danger sign keeps it off.",
)
SLIPPED = (
    "'{typed}' does not pass these cautions; they keep you and others whole. Read them and type  safe , or  b . "
    "Once more '{typed}' and the drill is stopped."
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
    calm = [check for check, result in results.items() if result is not None and result not in known[check].red_flag]
    waiting = [check for check, result in results.items() if result is None and known[check].runs_engine]
    for check, result in results.items():
        if check not in calm and check not in waiting:
            label = known[check].results[result] if result is not None else "nobody could tell"
            text = f"{known[check].name}: {label}"
            lines += [("say", line) for line in look.wrap(text, 4, f"  {look.alert} ")]
    names = "; ".join(known[check].name for check in calm)
    lines += [("plain", x) for x in look.wrap(f"None at: {names}" if calm else "All of them.", 4, "  ")]
    left = "; ".join(known[check].name for check in waiting)
    text = f"Not looked for, that needs the engine to run: {left}"
    return [*lines, *(("plain", x) for x in look.wrap(text, 4, "  ") if waiting)]


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


def found(drill: Drill, names: Sequence[tuple[str, str]], look: Look, priced: bool = True) -> list[Styled]:
    """Entries that words may mean, with their numbers, what each takes and what is in that; fewer without room."""
    lines: list[Styled] = []
    for number, (kind, name) in enumerate(names, 1):
        text, _ = entry_name(drill, kind, name)
        tail = f"  ({words.price(drill, kind, name)})" if kind in ("check", "repair") and priced else ""
        runs = "  engine running" if kind in ("check", "repair") and _runs(drill, kind, name) else ""
        lines += [("plain", line) for line in look.wrap(f"{text}{tail}{runs}", 14, f"   {number}   {kind:7}")]
    if len(lines) >= MOST_LINES and priced:
        return found(drill, names, look, priced=False)
    return [*lines, ("faint", "type a number, or other words")]


def _runs(drill: Drill, kind: str, name: str) -> bool:
    known = drill.knowledge
    if kind == "repair":
        entry = known.repairs[name]
        return entry.runs_engine or any(known.procedures[after].runs_engine for after in entry.procedures)
    return any(known.checks[check].runs_engine for check in drill.group(name))


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
    told = f"{words.spent(drill, turn)}; {drill.work.minutes:.0f} min so far"
    return [*lines, *(("faint", x) for x in look.wrap(told))]


def abnormal(drill: Drill, results: Mapping[str, str | None], every: bool) -> list[tuple[str, str]]:
    """(check, result) of the results that are not as expected, or of every one."""
    known = drill.knowledge.checks
    return [(c, r) for c, r in results.items() if r is not None and (every or r != known[c].expected)]


def review(drill: Drill, look: Look) -> list[Styled]:
    """What has been found so far, the danger signs first, the latest last; what is as expected in one line each."""
    top: list[Styled] = [("title", "Found so far")]
    if drill.signs_seen:
        top += signs(drill, drill.look_at_signs(), look)
    else:
        top.append(("say", "Danger signs have not been looked at."))
    rows = [("plain", x) for text in _findings(drill) for x in look.wrap(text, 4, "  ")]
    room = MOST_LINES - len(top) - 2
    cut: list[Styled] = [("faint", f"  ({len(rows) - room} earlier lines left out)")] if len(rows) > room else []
    return [*top, *cut, *rows[max(0, len(rows) - room) :], ("faint", f"{drill.work.minutes:.0f} min so far")]


def _findings(drill: Drill) -> Iterator[str]:
    """The program's findings where it began, then the trainee's, one line each."""
    known = drill.knowledge
    for step, after in zip(drill.car.path[: drill.played], drill.car.path[1:], strict=False):
        results = {check: after.walk.situation.results.get(check) for check in checks_of(step.step)}
        if not isinstance(step.step, steps.DangerScreen):
            yield from _told(drill, results, title(drill, step.step))
    for turn in drill.turns:
        if turn.kind == "repair":
            yield f"Repaired: {known.repairs[turn.name].name}"
        yield from _told(drill, turn.results, entry_name(drill, turn.kind, turn.name)[0])


def _told(drill: Drill, results: Mapping[str, str | None], name: str) -> Iterator[str]:
    shown = abnormal(drill, results, len(results) == 1)
    checks = drill.knowledge.checks
    yield from (f"{checks[check].name}: {checks[check].results[result]}" for check, result in shown)
    if not shown and results:
        yield f"{name}: {'nobody could tell' if set(results.values()) == {None} else 'nothing abnormal'}"


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
        case steps.DangerScreen(retry=True):
            return "once more: the danger signs that he could not tell"
        case steps.DangerScreen(checks):
            signs = ", ".join(known.checks[check].name.lower() for check in checks)
            return f"danger signs: {signs}" if len(checks) == 1 else f"{len(checks)} danger signs"
        case steps.MakeCheck(check=check, again=str()):
            return f"once more: {known.checks[check].name}"
        case steps.ChooseCondition(feature=feature):
            return FEATURE_NAMES[feature]
        case steps.TakeOneBack():
            return "take one of two findings back"
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
