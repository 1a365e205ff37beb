"""A step of the walk as lines of text, for each audience; pure functions, nothing is printed here."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from comeback.cli.look import Look, Styled, aloud
from comeback.cli.screens import endings, wording
from comeback.cli.screens.cautions import (
    cautions,
    despite_lines,
    fitting_cautions,
    only_asked,
    procedure_cautions,
    procedure_lines,
)
from comeback.cli.screens.event_text import first_of
from comeback.cli.screens.heading import car_line
from comeback.engine.case.case import Answer
from comeback.engine.readings import american_unit
from comeback.engine.walk import steps
from comeback.engine.walk.second_look import slip_of
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import Check
from comeback.kb.vocabulary import FEATURE_QUESTIONS, FEATURE_VALUES, Audience, Level

ROOM = 18
"""Lines of a step between the head and the foot of a screen of 24, if nothing is known of them."""
DANGER_LINES = 19
"""Lines of the screen of danger signs between its head and its foot."""
LEADS = 0.5
"""Chance from which a cause explains what is reported, so that "nothing explains it" would be wrong."""
MOST_FAMILIES = 6
"""Families of trouble codes that a panel's screen names; codes of any other are taken as well."""


def step_cautions(walk: Walk) -> list[str]:
    """Ids of the cautions that belong before the current step in the bay."""
    return [name for name in _step_cautions(walk) if name not in walk.view.spared]


def _step_cautions(walk: Walk) -> list[str]:
    knowledge, step = walk.knowledge, walk.step
    if walk.audience is Audience.PHONE or only_asked(walk):
        return []
    match step:
        case steps.MakeCheck() | steps.ReadPanel() | steps.LookRound() | steps.ProveRepair() | steps.ProofRound():
            checks = [knowledge.checks[check] for check in steps.checks_of(step)]
            new = walk.view.missing(s for check in checks for s in check.set_up)
            first = [c for s in new for c in knowledge.set_ups[s].cautions]
            return list(dict.fromkeys([*first, *(c for check in checks for c in check.cautions)]))
        case steps.DangerScreen(signs):
            told = (c for sign in signs for c in knowledge.checks[sign].cautions)
            return list(dict.fromkeys((*walk.view.high_voltage, *told)))
        case steps.DoRepair(repair=repair):
            return [*repair_cautions(walk, step), *procedure_cautions(walk, repair)]
        case steps.HandOver(repair=repair):
            return [*(knowledge.repairs[repair].cautions if repair else ()), *step.cautions]
    return []


def repair_cautions(walk: Walk, step: steps.DoRepair) -> list[str]:
    """Those of the repair itself; its procedures have their own before their steps."""
    knowledge = walk.knowledge
    new = [name for set_up in step.set_up for name in knowledge.set_ups[set_up].cautions]
    told = dict.fromkeys((*walk.view.high_voltage, *new, *knowledge.repairs[step.repair].cautions))
    return [name for name in told if name not in walk.view.spared]


def specialist_only(walk: Walk) -> bool:
    """True if the step is a repair that needs special training or a license."""
    step = walk.step
    return isinstance(step, steps.DoRepair) and walk.knowledge.repairs[step.repair].level is Level.SPECIALIST


def warning_screen(walk: Walk, names: Sequence[str], look: Look) -> list[Styled]:
    """What only a specialist may do, with its cautions, before its instructions; a word must be typed to go on."""
    assert isinstance(walk.step, steps.DoRepair)
    return [*_repair_head(walk, walk.step, look), *cautions(walk, names, look), ("faint", wording.GATE_HINT)]


def body(walk: Walk, look: Look, warned: bool = False, room: int = ROOM) -> list[Styled]:
    """The current step, a check's answers in `room` lines where they can be; `warned`: after its stop screen."""
    box = list(despite_lines(walk, look))
    last_look = walk.audience is Audience.BAY and isinstance(walk.step, steps.MakeCheck | steps.ReadPanel)
    if last_look and walk.view.passed:
        box.append(("say", "It has stopped. One look where it can hide something, then you are done."))
    return [*box, *_step(walk, look, warned, room - len(box))]


def _step(walk: Walk, look: Look, warned: bool, room: int) -> list[Styled]:
    match walk.step:
        case steps.ChooseService(services):
            names = [walk.knowledge.services[s].name for s in services]
            return _choices("Which service was done?", names, look)
        case steps.ChooseComplaint():
            if walk.audience is Audience.BAY:
                return [("title", wording.OPEN_QUESTION_BAY)]
            return [*aloud(wording.OPEN_QUESTION, look), ("faint", wording.TYPE_THEIR_WORDS)]
        case steps.ChooseCondition(feature, values):
            names = [FEATURE_VALUES[value] for value in values]
            question = aloud(FEATURE_QUESTIONS[feature], look) if walk.audience is Audience.PHONE else []
            listed = _choices(FEATURE_QUESTIONS[feature], names, look)
            return [*(question or listed[:1]), *listed[1:]]
        case steps.DangerScreen() as step:
            return _danger(walk, step, look)
        case (steps.MakeCheck() | steps.ProveRepair()) as step:
            return _check(walk, step, look, room)
        case steps.ReadPanel() as step:
            return _panel(walk, step, look)
        case (steps.LookRound() | steps.ProofRound()) as step:
            return _round(walk, step, look, room)
        case steps.DoRepair() as step:
            return _repair(walk, step, look, warned, room)
        case steps.Advise() as step:
            return endings.advise(walk, step, look, warned)
        case steps.HandOver() as step:
            return endings.hand_over(walk, step, step_cautions(walk), look)
        case steps.CloseCase() as step:
            return endings.close(walk, step, look)
        case steps.TakeOneBack(checks, results):
            found = [(walk.knowledge.checks[c], r) for c, r in zip(checks, results, strict=True)]
            return _choices(wording.TAKE_ONE_BACK, [f"{check.name}: {check.results[r]}" for check, r in found], look)
        case steps.Finished(how=how):
            return endings.finished(walk, how, look)


def _choices(question: str, names: Sequence[str], look: Look) -> list[Styled]:
    """A question with its answers by number."""
    return [("title", question), ("plain", ""), *look.numbered(names)]


def matches(walk: Walk, found: Sequence[str], look: Look, question: str = "Which of these is it?") -> list[Styled]:
    """The complaints that the customer's words may mean, nearest first."""
    return _choices(question, [walk.knowledge.complaints[name].name for name in found], look)


def _danger(walk: Walk, step: steps.DangerScreen, look: Look) -> list[Styled]:
    """All danger signs on one screen, never in pages: who answers "none" must have seen every one of them."""
    checks = [walk.knowledge.checks[name] for name in step.checks]
    if walk.audience is Audience.PHONE:
        return _signs_aloud(walk, step, checks, look)
    lines: list[Styled] = [("plain", "")]
    for number, check in enumerate(checks, 1):
        lines += look.styled("say", f"{check.name} = {_wrong(check)}", 7, f"   {number}   ")
    room = DANGER_LINES - (1 if car_line(walk) else 0) - len(lines)  # hazards in full stop whoever finds the sign
    told = fitting_cautions(walk, step_cautions(walk), look, room - 1)
    title = (wording.DANGER_AFTER_REPAIR if walk.case.repairs else wording.DANGER_BAY).format(
        signs="this danger sign" if len(checks) == 1 else "these danger signs"
    )
    title = wording.TRY_AGAIN if step.retry else title
    return [("title", title), *told, *lines[1 if len(told) >= room else 0 :]]


def _signs_aloud(walk: Walk, step: steps.DangerScreen, checks: Sequence[Check], look: Look) -> list[Styled]:
    """The danger signs as a list to read to the caller; of a single one only its question."""
    before = wording.DANGER_AGAIN if step.retry else wording.SWITCH_OFF if walk.view.engine_off else ""
    if len(checks) == 1:
        asked = [text for text in (before, str(checks[0].say)) if text]
        return [*aloud(" ".join(asked), look), ("plain", ""), *look.styled("say", _wrong(checks[0], ""), 7, "   1   ")]
    lines: list[Styled] = [("plain", "")]
    for number, check in enumerate(checks, 1):
        lines += look.styled("say", str(check.say), 7, f"   {number}   ")
        lines += look.styled("faint", _wrong(check, ""), 11, "         = ")
    asked = [before] if step.retry else [text for text in (before, wording.DANGER_PHONE) if text]
    return [*aloud(" ".join(asked), look), *lines]


def _round(walk: Walk, step: steps.LookRound | steps.ProofRound, look: Look, room: int) -> list[Styled]:
    """Several looks on one screen, each with what to do and what may be wrong, by letter."""
    checks, proof = [walk.knowledge.checks[name] for name in step.checks], isinstance(step, steps.ProofRound)
    lines = _rows(look, [_first(walk, walk.view.missing(s for check in checks for s in check.set_up))], 11)
    for number, check in enumerate(checks, 1):
        lines += look.styled("say", f"{check.name}. {check.do}", 7, f"   {number}   ")
        lines += look.styled("faint", _wrong(check), 16, "         wrong: ")
    title = look.styled("title", "Prove the repair. Is all of it as it should be?" if proof else wording.LOOK_ALL)
    told = fitting_cautions(walk, step_cautions(walk), look, room - len(title) - len(lines))
    return [*title, *told, *lines]


def _wrong(check: Check, harmless: str = " (harmless)") -> str:
    """The abnormal results of a check, by letter where there are several; what is `harmless` is said to be."""
    said = {name: f"{label}{harmless * (name in check.harmless)}" for name, label in check.results.items()}
    wrong = [(letter, said[name]) for letter, name in lettered(check)]
    return "  ".join(f"{letter} {label}" for letter, label in wrong) if len(wrong) > 1 else wrong[0][1]


def lettered(check: Check) -> list[tuple[str, str]]:
    """The abnormal results of a check with the letters that they are typed by."""
    return list(zip("abcdefg", check.names[1:], strict=False))


def _check(walk: Walk, step: steps.MakeCheck | steps.ProveRepair, look: Look, room: int) -> list[Styled]:
    """A check with its results, on one screen where the cautions can be told short enough for that."""
    check = walk.knowledge.checks[step.check]
    answers = list(result_lines(check, look))
    if walk.audience is Audience.PHONE:
        alone = endings.not_if(check.remedy, look) if check.remedy and check.remedy.do else []
        return [*alone, *aloud(check.aloud, look), ("plain", ""), *answers]
    title = [*look.styled("title", check.name), *look.styled("say", _once_more(walk, step), 4, "  ")]
    rows = (
        _first(walk, walk.view.missing(check.set_up)),
        ("Where", check.point),
        ("With", check.tool),
        ("When", "" if only_asked(walk) else check.condition),
        ("Do", str(check.do or check.say)),
    )
    before = _rows(look, rows, 11)
    after = [*_rows(look, [("Put back", " ".join(check.put_back))], 11), ("faint", _cost(check, step))]
    rest = len(title) + len(before) + len(after) + 1 + len(answers)
    told = fitting_cautions(walk, step_cautions(walk), look, room - rest)
    if len(told) + rest > room:  # what can be read after the answer goes to the next page
        return [*title, *told, *before, *answers, *after]
    return [*title, *told, *before, *after, ("plain", ""), *answers]


def _first(walk: Walk, set_ups: Iterable[str]) -> tuple[str, str]:
    """The row of set-ups that come first."""
    return "First", ", ".join(walk.knowledge.set_ups[name].name for name in set_ups)


def _rows(look: Look, rows: Iterable[tuple[str, str]], indent: int) -> list[Styled]:
    return [line for title, text in rows for line in look.styled("plain", text, indent, f"  {title}")]


def _once_more(walk: Walk, step: steps.MakeCheck | steps.ProveRepair) -> str:
    """Why something is asked a second time; empty if it is not."""
    results, before = walk.knowledge.checks[step.check].results, walk.case.answer(step.check)
    if isinstance(step, steps.MakeCheck) and step.again is not None:
        if before is not None:
            return _why_again(walk, before, step.again)
        told = wording.REPORTED_ONLY if walk.view.repair_candidates(LEADS) else wording.REPORTED
        return told.format(result=results[step.again])
    looked = before if isinstance(step, steps.MakeCheck) else None
    if looked is not None and looked.result and looked.epoch < walk.case.epoch:
        return f"Before the repair you found: {results[looked.result]}. Look again."
    return wording.TRY_AGAIN if step.retry else ""


def _why_again(walk: Walk, answer: Answer, found: str) -> str:
    """Why a finding is looked at again: how likely it is wrong, and what would be done on the strength of it."""
    check = walk.knowledge.checks[answer.check]
    match walk.imagine(walk.answers({check.id: found}, again=True)).step:
        case steps.DoRepair(repair=repair):
            then = f"the next repair ({walk.knowledge.repairs[repair].name})"
        case steps.HandOver():
            then = "you hand the car over"
        case _:
            then = "the next step"
    return wording.LOOK_AGAIN.format(
        who="The customer said" if check.asks_customer or answer.audience is Audience.PHONE else "You found",
        result=check.results[found], wrong=max(1, round(100 * slip_of(walk.view, check.id, found))), then=then,
        look="Ask once more" if check.asks_customer else "Look once more",
    )  # fmt: skip


def _cost(check: Check, step: steps.MakeCheck | steps.ProveRepair) -> str:
    """What a check takes and saves, or what it is to prove."""
    if isinstance(step, steps.ProveRepair):
        return f"Proof of the repair. It should be: {check.results[step.result]}"
    saves = step.saves if step.again is None else 0
    told = f"; saves {_minutes(saves)} of repair on average" if saves else ""
    return f"{_minutes(step.minutes)}, {wording.TIERS[check.tier.name.lower()]}{told}"


def _minutes(minutes: float) -> str:
    return f"about {minutes:.0f} min" if minutes >= 1 else "under 1 min"


def _panel(walk: Walk, step: steps.ReadPanel, look: Look) -> list[Styled]:
    panel, checks, known = walk.knowledge.panels[step.panel], walk.knowledge.checks, walk.view.results
    own = (c for c in checks.values() if c.panel == step.panel and known.get(c.id) not in (None, c.expected))
    names = [checks[check].name.lower() for check in step.checks]
    rows = (
        _first(walk, step.set_up),
        ("When", panel.condition),
        ("Do", panel.do),
        ("So far", ", ".join(f"{c.name.lower()} ({c.results[str(known[c.id])].lower()})" for c in own)),
        ("Tells", first_of(names, MOST_FAMILIES, ", ")),
    )
    saves = f"{_minutes(step.minutes)}; saves {_minutes(step.saves)} of repair on average"
    told = cautions(walk, step_cautions(walk), look)
    return [("title", panel.name), *told, *_rows(look, rows, 11), ("faint", saves)]


def result_lines(check: Check, look: Look) -> Iterator[Styled]:
    """The results of a check, each with the number that answers it; of a reading its number decides."""
    for number, label in enumerate(check.results.values(), 1):
        yield from look.styled("plain", label, 7, "   -   " if check.reading else f"   {number}   ")


def _repair_head(walk: Walk, step: steps.DoRepair, look: Look) -> list[Styled]:
    """Which repair, who may do it, what it takes and how often it cures."""
    lines = look.styled("title", f"Repair: {walk.knowledge.repairs[step.repair].name}")
    lines += [("say", wording.SPECIALIST_ONLY)] if specialist_only(walk) else []
    chance = f"fixes it in about {round(100 * step.cures)} of 100 such cars"
    chance = wording.NOT_ALL if step.found else chance
    return [*lines, ("faint", f"about {step.minutes:.0f} min with parts and proof; {chance}")]


def _repair(walk: Walk, step: steps.DoRepair, look: Look, warned: bool, room: int) -> list[Styled]:
    repair = walk.knowledge.repairs[step.repair]
    head, own = _repair_head(walk, step, look), _rows(look, [_first(walk, step.set_up)], 9)
    for number, text in enumerate((*repair.steps, *repair.put_back), 1):
        own += look.styled("plain", text, 6, f"  {number:2d}  ")
    own += look.styled("say", repair.never or "", 9, "  Never  ")
    left = 0 if warned else room - len(head) - len(own) - 1  # so that the steps begin on the first page
    lines = [*head, *fitting_cautions(walk, repair_cautions(walk, step), look, left), *own]
    lines += procedure_lines(walk, step.repair, look, step_cautions(walk) if warned else repair_cautions(walk, step))
    proof = walk.knowledge.checks[repair.proof.check]
    if step.sees is not None:
        seen = walk.knowledge.checks[step.sees]
        lines += look.styled("faint", f"Fine when you get there ({seen.results[seen.expected]})? Type  fine", 2, "  ")
    return [*lines, *_rows(look, [("Proof", f"{proof.name}: {proof.results[repair.proof.result]}")], 9)]


HINTS: Mapping[type[steps.Step], str] = {
    steps.DangerScreen: "n none   1 3 which ones   2b with a letter   2? not sure   d can't tell any",
    steps.LookRound: f"y all right   2 (or 2a) is not   2? can't tell   {wording.DONT_KNOW}",
    steps.ProofRound: f"y all as it should be   2 (or 2a) is not   {wording.DONT_KNOW}",
    steps.ReadPanel: f"type the codes (P0171 P0507)   n none stored   {wording.DONT_KNOW}",
    steps.DoRepair: "done when it is done   skip cannot do it here   hand-over pass it on",
    steps.Advise: "y caller says yes   n no: correct it (b, edit)   refused WHO SAID WHAT",
    steps.HandOver: "y hand the car over   b back",
    steps.ChooseService: "type a number or a name; for several: 1 6   d don't know",
    steps.ChooseCondition: f"type a number   {wording.DONT_KNOW}",
    steps.ChooseComplaint: "type some words   d they cannot say   ? for help",
}


def hint(walk: Walk) -> str:
    """How this step can be answered, in one line."""
    match walk.step:
        case steps.DangerScreen((sign,)):
            letters = "".join(f"   1{letter}" for letter, _ in lettered(walk.knowledge.checks[sign]))
            return f"n no{letters if len(letters) > 5 else '   y yes'}   {wording.DONT_KNOW}"
        case steps.MakeCheck(check=check) | steps.ProveRepair(check=check):
            entry = walk.knowledge.checks[check]
            if entry.reading:
                own, american = entry.reading.unit, american_unit(entry)
                unit = f"with its unit ({american}, {own})" if american else f"in {own}"
                return f"type the reading {unit}, over range, no reading   {wording.DONT_KNOW}"
            yes_no = "   or y n" if set(entry.results) == {"no", "yes"} else ""
            return f"type a number{yes_no}   {wording.DONT_KNOW}"
        case (steps.LookRound() | steps.ProofRound()) as step:
            reading = next((n for n, c in enumerate(step.checks, 1) if walk.knowledge.checks[c].reading), None)
            return HINTS[type(step)] + (f"   {reading}=READING" if reading else "")
        case steps.CloseCase() as step:
            return endings.close_hint(walk, step)
        case steps.DoRepair(sees=str()):
            return f"{HINTS[steps.DoRepair]}   fine"
        case steps.Finished(how=how):
            other = wording.AFTER_HAND_OVER_HINT if how == "handed over" else "print   note ...   q"
            return wording.AFTER_HINT if how == "advised" else other
    return HINTS.get(type(walk.step), "type a number")
