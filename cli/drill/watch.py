"""A worked example: the car and what the customer says, each step with its reason, the end."""

from collections.abc import Iterator

from comeback.cli.drill import words
from comeback.cli.drill.debrief import STAYS_OFF
from comeback.cli.drill.words import MOST_LINES, minutes, put, reasons, screens_of
from comeback.cli.look import Look, Styled
from comeback.cli.numbers import counted
from comeback.cli.screens.cautions import cautions
from comeback.cli.screens.screens import step_cautions
from comeback.cli.screens.why import leading
from comeback.engine.drill.drill import Drill
from comeback.engine.drill.hidden_car import Played
from comeback.engine.drill.worth import CHECKS
from comeback.engine.walk import steps
from comeback.kb.vocabulary import FEATURE_VALUES, Disposition

OPENING = (
    "This is what is known before anyone looks. Now watch the program find the cause: each step with its reason, its "
    "minutes, what it showed and what follows. Enter after each step."
)


def screens(drill: Drill, look: Look) -> list[list[Styled]]:
    """All screens, of at most MOST_LINES lines each: the car, the steps, the end."""
    opening = [*_head(look, f"A worked example: car {drill.car.seed}"), *put(look, words.story(drill)), ("plain", ""),
               *put(look, [("Likely", leading(drill.start))], "say"), ("plain", ""),
               *put(look, [("", OPENING)])]  # fmt: skip
    played = [part for number, step in enumerate(drill.car.path, 1) for part in _step(drill, number, step, look)]
    return [opening, *played, _closing(drill, look)]


def _head(look: Look, text: str) -> list[Styled]:
    return [("faint", look.rule), *look.styled("title", text)]


def _step(drill: Drill, number: int, step: Played, look: Look) -> list[list[Styled]]:
    """The screen of one step; its cautions on a screen of their own where both do not fit."""
    walk = step.walk.with_step(step.step)
    top = _head(look, f"Step {number} of {len(drill.car.path)}: {words.title(drill.knowledge, step.step)}")
    warned = list(cautions(walk, step_cautions(walk), look, short=True))
    body = put(look, [("Do", _what(drill, step.step))]) + reasons(walk, look, "  Why")
    body += put(look, [("Takes", f"{minutes(step.minutes)} min")])
    body += put(look, [("Shows", _shows(drill, step)), *(("So", text) for text in _follows(drill, step))], "say")
    room = MOST_LINES - len(top)
    parts = [[*warned, *body]] if len(warned + body) <= room else [*screens_of(warned, room), *screens_of(body, room)]
    return [[*top, *part] for part in parts]


def _what(drill: Drill, step: steps.Step) -> str:
    """What the technician does in this step."""
    known = drill.knowledge
    match step:
        case steps.MakeCheck() | steps.LookRound() | steps.ProveRepair() | steps.ProofRound():
            return " ".join(known.checks[check].do or "" for check in steps.checks_of(step))
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
    results = {check: step.after.view.results.get(check) for check in steps.checks_of(step.step)}
    texts = list(words.seen(drill.knowledge, results, len(results) == 1))
    if isinstance(step.step, steps.DangerScreen) and len(texts) < len(results):
        texts.append("of the others none" if texts else "None of these danger signs is there.")
    return "; ".join(texts) or "Nothing abnormal."


def _follows(drill: Drill, step: Played) -> Iterator[str]:
    """What follows from the result: of the danger signs the advice, and whether the engine may run."""
    known, given = drill.knowledge, step.after.advice()
    match step.step:
        case steps.DangerScreen():
            flags = "; ".join(known.checks[flag].name.lower() for flag in given.flags)
            because = f" The sign behind it: {flags}." if flags and given.floor > Disposition.WATCH else ""
            advice = known.dispositions[given.disposition]
            yield f'Advice to the customer: {advice.name}. "{" ".join(advice.say[:2])}"{because}'
            yield from (STAYS_OFF[until] for until in sorted(set(step.after.view.engine_off.values())))
        case steps.ProveRepair(check=check, result=wanted):
            yield "OK." if step.after.view.results.get(check) == wanted else "Not OK: the search continues."
        case steps.ProofRound(checks=checks, results=wanted):
            shown = tuple(step.after.view.results.get(check) for check in checks)
            yield "OK." if shown == wanted else "Not OK: the search continues."
        case steps.MakeCheck() | steps.LookRound() | steps.ReadPanel():
            yield leading(step.after)


def _closing(drill: Drill, look: Look) -> list[Styled]:
    """Complaint, cause, correction, proof."""
    known, car = drill.knowledge, drill.car
    complaint, behind = known.complaints[car.comeback.complaint], [known.causes[c] for c in sorted(car.behind)]
    checks = counted(sum(isinstance(played.step, CHECKS) for played in car.path), "check")
    out = [*_head(look, "How it ended"), *put(look, [("Complaint", f'{complaint.name}: "{complaint.words[0]}"')])]
    done = "; ".join(known.repairs[repair].name for repair in car.repairs)
    out += put(look, [*(("Cause", f"{one.name}. {one.explain}") for one in behind), ("Correction", done)], "say")
    for proof in [known.repairs[repair].proof for repair in car.repairs[-1:]]:
        check = known.checks[proof.check]
        out += put(look, [("Proof", f"{check.name}: {check.results[proof.result]}")])
    took = f"{minutes(car.minutes)} min with parts and proof, {checks}, {counted(len(car.repairs), 'repair')}"
    say = f'To the customer: "{" ".join(cause.tell for cause in behind)}"'
    more = f"Now one by yourself: comeback drill --service {car.comeback.service} --complaint {car.comeback.complaint}"
    out += put(look, [("Took", took), ("Say", say)])
    return [*out[: MOST_LINES - 3], ("plain", ""), *look.styled("faint", more)]
