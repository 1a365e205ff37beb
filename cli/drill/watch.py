"""A worked example: the car and what the customer says, each step with its reason, the end, a beginner's way."""

from collections.abc import Iterator

from comeback.cli.drill import words
from comeback.cli.drill.hazards import STAYS_OFF
from comeback.cli.drill.words import MOST_LINES, put, reasons
from comeback.cli.look import Look, Styled
from comeback.cli.screens.cautions import cautions
from comeback.cli.screens.screens import step_cautions
from comeback.engine.drill.drill import Drill
from comeback.engine.drill.example import ByGuess, by_guess
from comeback.engine.drill.hidden_car import Played
from comeback.engine.drill.score import CHECKS
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import FEATURE_VALUES, Disposition

INDENT = 13
OPENING = (
    "This is what is known before anyone looks. You now see the program find the cause: each step with its reason, its "
    "minutes, what it showed and what follows. Enter after each step."
)


def screens(drill: Drill, look: Look) -> list[list[Styled]]:
    """All screens, of at most MOST_LINES lines each: the car, the steps, the end, the beginner."""
    played = [part for number, step in enumerate(drill.car.path, 1) for part in _step(drill, number, step, look)]
    return [_opening(drill, look), *played, _closing(drill, look), _beginner(drill, look)]


def _put(look: Look, *rows: tuple[str, str], style: str = "plain") -> list[Styled]:
    return put(look, rows, INDENT, style)


def _opening(drill: Drill, look: Look) -> list[Styled]:
    """The order as it lies on the bench, and what may be behind it before anybody looked."""
    head: list[Styled] = [("faint", look.rule), ("title", f"A worked example: car {drill.car.seed}")]
    known = _put(look, ("Likely", words.leading(drill.start, 3)), style="say")
    return [*head, *_put(look, *words.story(drill)), ("plain", ""), *known, ("plain", ""), *_put(look, ("", OPENING))]


def _step(drill: Drill, number: int, step: Played, look: Look) -> list[list[Styled]]:
    """The screen of one step; its cautions on a screen of their own where both do not fit."""
    walk = step.walk.with_step(step.step)
    head = f"Step {number} of {len(drill.car.path)}: {words.title(drill.knowledge, step.step)}"
    top: list[Styled] = [("faint", look.rule), *(("title", x) for x in look.wrap(head))]
    warned = list(cautions(walk, step_cautions(walk), look, short=True))
    body = _put(look, ("Do", _what(drill, step.step))) + reasons(walk, look, INDENT, "  Why")
    body += _put(look, ("Takes", f"{words.minutes(step.minutes)} min"))
    body += _put(look, ("Shows", _shows(drill, step)), *_follows(drill, step), style="say")
    if len(top) + len(warned) + len(body) <= MOST_LINES:
        return [[*top, *warned, *body]]
    parts = [*words.screens_of(warned, MOST_LINES - len(top)), *words.screens_of(body, MOST_LINES - len(top))]
    return [[*top, *part] for part in parts]


def _what(drill: Drill, step: steps.Step) -> str:
    known = drill.knowledge
    match step:
        case steps.MakeCheck(check=check) | steps.ProveRepair(check=check):
            return known.checks[check].do or ""
        case steps.ReadPanel(panel=panel):
            return known.panels[panel].do
        case steps.DoRepair(repair=repair):
            return " ".join(known.repairs[repair].steps)
    return ""


def _shows(drill: Drill, step: Played) -> str:
    match step.step:
        case steps.DoRepair():
            return "Done. Its proof comes next."
        case steps.ChooseCondition(feature=feature):
            return FEATURE_VALUES[dict(step.after.case.vehicle)[feature]]
        case steps.TakeOneBack():
            return "One of them is made again."
    results = {check: step.after.view.results.get(check) for check in words.checks_of(step.step)}
    texts = list(words.seen(drill.knowledge, results, len(results) == 1))
    if isinstance(step.step, steps.DangerScreen) and len(texts) < len(results):
        texts.append("of the others none" if texts else "None of these danger signs is there.")
    return "; ".join(texts) or "Nothing abnormal."


def _follows(drill: Drill, step: Played) -> Iterator[tuple[str, str]]:
    """What follows from the result."""
    match step.step:
        case steps.DangerScreen():
            yield from (("So", text) for text in _advice(drill, step.after))
        case steps.ProveRepair(check=check, result=wanted):
            held = step.after.view.results.get(check) == wanted
            yield "So", "OK." if held else "Not OK: the search continues."
        case steps.MakeCheck() | steps.ReadPanel():
            yield "So", words.leading(step.after, 3)


def _advice(drill: Drill, after: Walk) -> Iterator[str]:
    """The advice because of the signs, and whether the engine may run."""
    known, given = drill.knowledge, after.advice()
    flags = "; ".join(known.checks[flag].name.lower() for flag in given.flags)
    because = f" The sign behind it: {flags}." if flags and given.floor > Disposition.WATCH else ""
    advice = known.dispositions[given.disposition]
    yield f'Advice to the customer: {advice.name}. "{" ".join(advice.say[:2])}"{because}'
    yield from (STAYS_OFF[until] for until in sorted(set(after.view.engine_off.values())))


def _closing(drill: Drill, look: Look) -> list[Styled]:
    """Complaint, cause, correction, proof."""
    known, car = drill.knowledge, drill.car
    complaint, behind = known.complaints[car.comeback.complaint], [known.causes[c] for c in sorted(car.behind)]
    out: list[Styled] = [("faint", look.rule), ("title", "How it ended")]
    out += _put(look, ("Complaint", f'{complaint.name}: "{complaint.words[0]}"'))
    out += _put(look, *(("Cause", f"{cause.name}. {cause.explain}") for cause in behind), style="say")
    out += _put(look, ("Correction", "; ".join(known.repairs[repair].name for repair in car.repairs)), style="say")
    for proof in [known.repairs[repair].proof for repair in car.repairs[-1:]]:
        check = known.checks[proof.check]
        out += _put(look, ("Proof", f"{check.name}: {check.results[proof.result]}"))
    checks = words.count(sum(isinstance(played.step, CHECKS) for played in car.path), "check")
    took = f"{words.minutes(car.minutes)} min with parts and proof, {checks}, {words.count(len(car.repairs), 'repair')}"
    say = f'To the customer: "{" ".join(cause.tell for cause in behind)}"'
    return [*out, *_put(look, ("Took", took), ("Say", say))][:MOST_LINES]


def _beginner(drill: Drill, look: Look) -> list[Styled]:
    """What a beginner would have done wrong on this car, worked out on this car; and how to go on."""
    car = drill.car.comeback
    more = f"Now one by yourself: comeback drill --service {car.service} --complaint {car.complaint}"
    lines: list[Styled] = [("faint", look.rule), ("title", "What a beginner would have done on this car")]
    lines += [("plain", x) for text in _wrong(drill) for x in look.wrap(text, 4, "  - ")]
    return [*lines, ("plain", ""), *(("faint", x) for x in look.wrap(more))][:MOST_LINES]


def _wrong(drill: Drill) -> Iterator[str]:
    """A beginner's mistakes: signs passed over, the first guess, no proof."""
    known = drill.knowledge
    looked = [played.after for played in drill.car.path if isinstance(played.step, steps.DangerScreen)]
    if looked:
        given = looked[-1].advice()
        signs = ", ".join(known.checks[flag].name.lower() for flag in given.flags)
        missed = f"Begins to work and does not see the danger sign ({signs}); the customer does not hear: "
        luck = "Skips the danger signs. Here none was there; on the next car it is smoke or a fuel leak."
        yield f"{missed}{known.dispositions[given.floor].name}." if given.floor > Disposition.WATCH else luck
    if looked and looked[-1].view.engine_off:
        yield "Starts the engine to hear it, although with this sign every turn can do harm."
    guess = by_guess(known, drill.car)
    if guess is not None:
        yield _guessed(drill, guess)
    yield "Clears the codes, sees the complaint gone for the moment and hands the keys back without a proof."


def _guessed(drill: Drill, guess: ByGuess) -> str:
    names = [drill.knowledge.repairs[repair].name for repair in guess.repairs]
    first = f"Makes no check and does what promises most for its price: {names[0]} ({words.percent(guess.right)} right)"
    own, took = words.minutes(drill.car.minutes), words.minutes(guess.minutes)
    if guess.given_away and not guess.fixed:
        return f"{first}, and ends at a repair that only a specialist may do. The program needed {own} min."
    count = f"{words.count(len(names), 'repair')}, {guess.needless} unneeded"
    if not guess.fixed:
        return f"{first}, and so on: {count}, {took} min, and the complaint is still there."
    if not guess.needless and guess.minutes <= drill.car.minutes:
        return f"{first}. Lucky on this car: {took} min. On the others it is an unneeded repair."
    tail = f", then {names[1]}" if len(names) > 1 else ""
    return f"{first}{tail}: {count}, {took} min instead of {own}."
