"""A worked example: the car and what the customer says, each step with its reason, the end, a beginner's way."""

from collections.abc import Iterator, Sequence

from comeback.cli.drill import words
from comeback.cli.drill.screens import MOST_LINES, abnormal, checks_of, story, title
from comeback.cli.look import Look, Styled
from comeback.cli.screens.cautions import cautions
from comeback.cli.screens.screens import step_cautions
from comeback.engine.drill import example as drill_example
from comeback.engine.drill.drill import Drill
from comeback.engine.drill.hidden_car import Played
from comeback.engine.errors import EngineError
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import FEATURE_VALUES, Disposition, EngineOff

INDENT = 11
MOST_MOVES = 2
LEAST_MOVE = 0.01
TOLD = "Enter after each step."
STAYS_OFF = {
    EngineOff.LOOKED: "The engine stays off until all that shows with the engine off has been looked at.",
    EngineOff.REPAIRED: "The engine stays off until what this sign points at is repaired.",
}


def whole(drill: Drill, look: Look) -> list[list[Styled]]:
    """All screens, of at most MOST_LINES lines each: the car, the steps, the end, the beginner."""
    told = played(drill, len(drill.car.path), look)
    return [opening(drill, look), *told, closing(drill, look), beginner(drill, look)]


def opening(drill: Drill, look: Look) -> list[Styled]:
    """The order as it lies on the bench, and what may be behind it before anybody looked."""
    lines: list[Styled] = [("faint", look.rule), ("title", f"A worked example: car {drill.car.seed}")]
    lines += [("plain", x) for name, text in story(drill) for x in look.wrap(text, 14, f"  {name}")]
    lines += [("plain", ""), *_said(look, "Guess", words.leading(drill.start, 3), "say")]
    text = "So much is known before anybody looks. You now see the program find the cause: each step with the reason,"
    lines += [("plain", ""), *_said(look, "", f"{text} the price, what it showed and what follows. {TOLD}")]
    return lines


def played(drill: Drill, count: int, look: Look) -> list[list[Styled]]:
    """A screen for each of the program's first `count` steps."""
    after = drill_example.walks_after(drill.knowledge, drill.car)
    steps_of = zip(drill.car.path[:count], after, strict=False)
    return [part for n, (step, walk) in enumerate(steps_of, 1) for part in _step(drill, n, step, walk, look)]


def _step(drill: Drill, number: int, step: Played, after: Walk, look: Look) -> list[list[Styled]]:
    """The screen of one step; its cautions on a screen of their own where both do not fit."""
    head = f"Step {number} of {len(drill.car.path)}: {title(drill, step.step)}"
    top: list[Styled] = [("faint", look.rule), *(("title", x) for x in look.wrap(head))]
    warned = list(cautions(step.walk, step_cautions(step.walk), look, short=True))
    shown = [*_said(look, "Shows", _shows(drill, step, after), "say"), *_follows(drill, step, after, look)]
    shown = [*_said(look, "Takes", words.cost(step.walk, step.step, step.minutes)), *shown]
    why = [_said(look, "Why" if not k else "", x) for k, x in enumerate(words.reasons(step.walk, step.step))]
    do = _said(look, "Do", _what(drill, step.step))
    room = MOST_LINES - len(top) - len(shown)
    if len(warned) > room - len(why[0] if why else []):
        apart = [[*top, *warned[k : k + room]] for k in range(0, len(warned), room)]
        return [*apart, [*top, *_fitting([do, *why], room), *shown]]
    return [[*top, *warned, *_fitting([do, *why], room - len(warned)), *shown]]


def _fitting(blocks: Sequence[list[Styled]], room: int) -> list[Styled]:
    """As many whole blocks as there is room for; the first gives way to the second, the reason."""
    blocks = [block for block in blocks if block]
    while blocks and sum(map(len, blocks)) > room:
        blocks = blocks[:-1] if len(blocks) > 2 else blocks[1:]
    return [line for block in blocks for line in block]


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


def _shows(drill: Drill, step: Played, after: Walk) -> str:
    known = drill.knowledge.checks
    match step.step:
        case steps.DoRepair():
            return "Done. Its proof comes next."
        case steps.ChooseCondition(feature=feature):
            return FEATURE_VALUES[dict(after.case.vehicle)[feature]]
        case steps.TakeOneBack():
            return "One of them is made again."
    results = {check: after.situation.results.get(check) for check in checks_of(step.step)}
    unknown = [known[check].name for check, result in results.items() if result is None]
    texts = [f"{known[c].name}: {known[c].results[r]}" for c, r in abnormal(drill, results, len(results) == 1)]
    if unknown:
        texts.append(f"nobody could tell: {', '.join(unknown)}")
    if isinstance(step.step, steps.DangerScreen) and not texts:
        return "None of the danger signs is there."
    if isinstance(step.step, steps.DangerScreen) and len(texts) < len(results):
        texts.append("of the others none")
    return "; ".join(texts) or "Nothing abnormal."


def _follows(drill: Drill, step: Played, after: Walk, look: Look) -> list[Styled]:
    """What follows from the result."""
    match step.step:
        case steps.DangerScreen():
            return [line for text in _advice(drill, after) for line in _said(look, "So", text, "say")]
        case steps.ProveRepair(check=check, result=wanted):
            held = after.situation.results.get(check) == wanted
            text = "As it should be." if held else "Not as it should be: the search goes on."
            return _said(look, "So", text, "say")
        case steps.MakeCheck() | steps.ReadPanel():
            return _said(look, "So", _moved(drill, step.walk, after), "say")
    return []


def _advice(drill: Drill, after: Walk) -> Iterator[str]:
    """What the customer is told because of the signs, and whether the engine may run."""
    known, ruling = drill.knowledge, after.situation.ruling
    told = known.dispositions[ruling.advice]
    flags = "; ".join(known.checks[flag].name.lower() for flag in ruling.flags)
    because = f" The sign behind it: {flags}." if flags and ruling.floor > Disposition.WATCH else ""
    yield f'The customer is told: {told.name}. "{" ".join(told.say[:2])}"{because}'
    for until in sorted(set(after.situation.engine_off.values())):
        yield STAYS_OFF[until]


def _moved(drill: Drill, before: Walk, after: Walk) -> str:
    """The causes whose chance changed most."""
    try:
        was, now = (dict(walk.situation.repair_candidates(0.0)) for walk in (before, after))
    except EngineError:
        return "That cannot be true together with what was found before."
    moves = sorted({*was, *now}, key=lambda c: -abs(now.get(c, 0.0) - was.get(c, 0.0)))[:MOST_MOVES]
    moved = [c for c in moves if abs(now.get(c, 0.0) - was.get(c, 0.0)) >= LEAST_MOVE]
    if not moved:
        return f"That changes little. {words.leading(after, 1)}"
    of = words.of_hundred
    parts = [f"{drill.knowledge.causes[c].name}: {of(was.get(c, 0.0))}, now {of(now.get(c, 0.0))}" for c in moved]
    return f"{'; '.join(parts)} of 100 such cars."


def closing(drill: Drill, look: Look) -> list[Styled]:
    """Complaint, cause, correction, proof."""
    known, car = drill.knowledge, drill.car
    complaint = known.complaints[car.comeback.complaint]
    done = drill_example.repairs_of(car)
    lines: list[Styled] = [("faint", look.rule), ("title", "How it ended")]
    lines += _said(look, "Complaint", f'{complaint.name}: "{complaint.words[0]}"')
    for cause in sorted(car.behind):
        lines += _said(look, "Cause", f"{known.causes[cause].name}. {known.causes[cause].explain}", "say")
    lines += _said(look, "Correction", "; ".join(known.repairs[repair].name for repair in done), "say")
    for repair in done[-1:]:
        proof, check = known.repairs[repair].proof, known.checks[known.repairs[repair].proof.check]
        lines += _said(look, "Proof", f"{check.name}: {check.results[proof.result]}")
    checks = words.count(sum(isinstance(p.step, steps.MakeCheck | steps.ReadPanel) for p in car.path), "check")
    took = f"{words.minutes(car.minutes)} min with parts and proof, {checks}, {words.count(len(done), 'repair')}"
    lines += _said(look, "Took", took)
    told = [known.causes[cause].tell for cause in sorted(car.behind)]
    return [*lines, *_said(look, "Tell", f'The customer hears: "{" ".join(told)}"')][:MOST_LINES]


def beginner(drill: Drill, look: Look) -> list[Styled]:
    """What a beginner would have done wrong on this car, worked out on this car; and how to go on."""
    lines: list[Styled] = [("faint", look.rule), ("title", "What a beginner would have done on this car")]
    lines += [x for text in _wrong(drill) for x in look_item(look, text)]
    car = drill.car.comeback
    more = f"comeback drill --mode complete --service {car.service} --complaint {car.complaint}"
    lines += [("plain", ""), *(("faint", x) for x in look.wrap(f"Now half of one by yourself: {more}"))]
    return lines[:MOST_LINES]


def look_item(look: Look, text: str) -> list[Styled]:
    """One point of a list."""
    return [("plain", x) for x in look.wrap(text, 4, "  - ")]


def _wrong(drill: Drill) -> Iterator[str]:
    """His mistakes: signs passed over, the first guess, no proof."""
    known, car = drill.knowledge, drill.car
    after = zip(car.path, drill_example.walks_after(known, car), strict=False)
    seen = [walk for played, walk in after if isinstance(played.step, steps.DangerScreen)]
    first = seen[-1] if seen else None
    if first is not None and first.situation.ruling.floor > Disposition.WATCH:
        signs = ", ".join(known.checks[flag].name.lower() for flag in first.situation.ruling.flags)
        told = known.dispositions[first.situation.ruling.floor].name
        yield f"He begins to work and does not see the danger sign ({signs}); the customer is not told: {told}."
    elif first is not None:
        yield "He skips the danger signs. Here none was there; on the next car it is smoke or a fuel leak."
    if first is not None and first.situation.engine_off:
        yield "He starts the engine to hear it, although with this sign every turn can do harm."
    guess = drill_example.by_guess(known, car)
    if guess is not None:
        yield _guessed(drill, guess)
    yield "He clears the codes, sees the complaint gone for the moment and hands the keys back without a proof."


def _guessed(drill: Drill, guess: drill_example.ByGuess) -> str:
    names = [drill.knowledge.repairs[repair].name for repair in guess.repairs]
    right = f"(right in {words.of_hundred(guess.right)} of 100)"
    first = f"He makes no check and does what promises most for its price: {names[0]} {right}"
    own = words.minutes(drill.car.minutes)
    if guess.given_away and not guess.fixed:
        return f"{first}, and ends at a repair that only a specialist may do. The program needed {own} min."
    count = f"{words.count(len(names), 'repair')}, {guess.needless} for nothing"
    if not guess.fixed:
        return f"{first}, and so on: {count}, {words.minutes(guess.minutes)} min, and the complaint is still there."
    if not guess.needless and guess.minutes <= drill.car.minutes:
        took = words.minutes(guess.minutes)
        return f"{first}. Here he is lucky: {took} min. On the other cars he repairs for nothing."
    tail = f", then {names[1]}" if len(names) > 1 else ""
    return f"{first}{tail}: {count}, {words.minutes(guess.minutes)} min instead of {own}."


def _said(look: Look, head: str, text: str, style: str = "plain") -> list[Styled]:
    return [(style, x) for x in look.wrap(text, INDENT + 2, f"  {head}")] if text else []
