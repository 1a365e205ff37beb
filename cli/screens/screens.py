"""A step of the walk as lines of text, for each audience; pure functions, nothing is printed here."""

from collections.abc import Iterator, Sequence

from comeback.cli.look import Look, Styled, aloud
from comeback.cli.screens import endings, wording
from comeback.cli.screens.cautions import cautions
from comeback.cli.screens.despite import despite_lines
from comeback.cli.screens.heading import car_line
from comeback.cli.screens.procedures import procedure_cautions, procedure_lines
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import Check
from comeback.kb.vocabulary import FEATURE_NAMES, FEATURE_VALUES, Audience, Level

WIDEST = 79
DANGER_LINES = 19
"""Lines of the screen of danger signs between its head and its foot."""
LEADS = 0.5
"""Chance from which a cause explains what is reported, so that "nothing explains it" would be wrong."""
MOST_CHOICES = 12
"""Choices on one screen; the next page is one key away, and any number or word is taken at once."""
MOST_FAMILIES = 6
"""Families of trouble codes that a panel's screen names; codes of any other are taken as well."""


def step_cautions(walk: Walk) -> list[str]:
    """Ids of the cautions that belong before the current step in the bay."""
    knowledge = walk.knowledge
    if walk.audience is Audience.PHONE:
        return []
    match walk.step:
        case steps.MakeCheck(check=check) | steps.ProveRepair(check=check):
            entry = knowledge.checks[check]
            return [*_set_up_cautions(walk, entry), *entry.cautions]
        case steps.ReadPanel(checks=checks):
            entries = [knowledge.checks[check] for check in checks]
            return [c for entry in entries for c in (*_set_up_cautions(walk, entry), *entry.cautions)]
        case steps.DangerScreen(checks):
            return list(dict.fromkeys(c for check in checks for c in knowledge.checks[check].cautions))
        case steps.DoRepair(repair=repair) as step:
            return [*repair_cautions(walk, step), *procedure_cautions(walk, repair)]
        case steps.HandOver(repair=str(repair)):
            return list(knowledge.repairs[repair].cautions)
    return []


def repair_cautions(walk: Walk, step: steps.DoRepair) -> list[str]:
    """Those of the repair itself; its procedures have their own before their steps."""
    knowledge = walk.knowledge
    new = [name for set_up in step.set_up for name in knowledge.set_ups[set_up].cautions]
    return [*new, *knowledge.repairs[step.repair].cautions]


def specialist_only(walk: Walk) -> bool:
    """True if the step is a repair that needs special training or a license."""
    step = walk.step
    return isinstance(step, steps.DoRepair) and walk.knowledge.repairs[step.repair].level is Level.SPECIALIST


def warning_screen(walk: Walk, names: Sequence[str], look: Look) -> list[Styled]:
    """What only a specialist may do, with its cautions, before its instructions; a word must be typed to go on."""
    assert isinstance(walk.step, steps.DoRepair)
    return [*_repair_head(walk, walk.step, look), *cautions(walk, names, look), ("faint", wording.GATE_HINT)]


def body(walk: Walk, look: Look, warned: bool = False, page: int = 0) -> list[Styled]:
    """The current step. `warned`: its stop screen was just passed, so this one is shorter; `page` of a long list."""
    return [*despite_lines(walk, look), *_step(walk, look, warned, page)]


def _step(walk: Walk, look: Look, warned: bool, page: int) -> list[Styled]:
    match walk.step:
        case steps.ChooseService(services):
            names = [walk.knowledge.services[s].name for s in services]
            return _choices("Which service was done?", names, look, page)
        case steps.ChooseComplaint():
            return _open_question(walk, look)
        case steps.ChooseCondition(feature, values):
            names = [FEATURE_VALUES[value] for value in values]
            return [
                *_choices(FEATURE_NAMES[feature], names, look),
                ("faint", f"  {wording.DONT_KNOW}"),
            ]
        case steps.DangerScreen(checks):
            return _danger(walk, checks, look)
        case steps.MakeCheck() as step:
            return _check(walk, step.check, look, (_once_more(walk, step), _cost(walk, step)))
        case steps.ReadPanel() as step:
            return _panel(walk, step, look)
        case steps.ProveRepair(check=check) as step:
            return _check(walk, check, look, (_once_more(walk, step), _proof(walk, step)))
        case steps.DoRepair() as step:
            return _repair(walk, step, look, warned)
        case steps.Advise() as step:
            return endings.advise(walk, step, look, warned)
        case steps.HandOver(reason, repair):
            return endings.hand_over(walk, reason, repair, look)
        case steps.CloseCase() as step:
            return endings.close(walk, step, look)
        case steps.TakeOneBack(checks, results):
            names = [
                f"{walk.knowledge.checks[c].name}: {walk.knowledge.checks[c].results[r]}"
                for c, r in zip(checks, results, strict=True)
            ]
            return _choices("These two cannot both be true. Which one do you take back?", names, look)
        case steps.Finished(how=how):
            return endings.finished(walk, how, look)


def _choices(question: str, names: Sequence[str], look: Look, page: int = 0) -> list[Styled]:
    lines: list[Styled] = [("title", question), ("plain", "")]
    pages = max(1, -(-len(names) // MOST_CHOICES))
    first = page % pages * MOST_CHOICES
    for number, name in list(enumerate(names, 1))[first : first + MOST_CHOICES]:
        lines += [("plain", line) for line in look.wrap(name, 7, f"  {number:2d}   ")]
    if pages > 1:
        last = min(first + MOST_CHOICES, len(names))
        lines.append(("faint", f"   m   more of them: this is {first + 1} to {last} of {len(names)}"))
    return lines


def _open_question(walk: Walk, look: Look) -> list[Styled]:
    lines: list[Styled] = []
    if walk.audience is Audience.PHONE:
        lines += [("say", line) for line in aloud(wording.OPEN_QUESTION, look)]
        lines += [("faint", "Type the customer's own words; the nearest complaints are listed for you.")]
    else:
        lines += [("title", "What does the customer report? Type it in the customer's words.")]
    return lines


def matches(walk: Walk, found: Sequence[str], look: Look, question: str = "Which of these is it?") -> list[Styled]:
    """The complaints that the customer's words may mean, nearest first."""
    names = [walk.knowledge.complaints[name].name for name in found]
    return _choices(question, names, look)


def _danger(walk: Walk, checks: Sequence[str], look: Look) -> list[Styled]:
    """All danger signs on one screen, never in pages: who answers "none" must have seen every one of them."""
    knowledge, phone = walk.knowledge, walk.audience is Audience.PHONE
    lines: list[Styled] = [("plain", "")]
    for number, name in enumerate(checks, 1):
        check = knowledge.checks[name]
        labels = list(check.results.values())[1:]
        shown = labels[0] if len(labels) == 1 else "  ".join(f"{'abcdefg'[i]} {x}" for i, x in enumerate(labels))
        if phone:
            lines += [("say", line) for line in look.wrap(str(check.say), 7, f"   {number}   ")]
            lines += [("faint", line) for line in look.wrap(shown, 11, "         = ")]
        else:
            lines += [("say", line) for line in look.wrap(f"{check.name} = {shown}", 7, f"   {number}   ")]
    if phone:
        retry = isinstance(walk.step, steps.DangerScreen) and walk.step.retry
        said = wording.DANGER_AGAIN if retry else wording.DANGER_PHONE
        said = f"{wording.SWITCH_OFF} {said}" if walk.view.engine_off and not retry else said
        return [*(("say", line) for line in aloud(said, look)), *lines]
    told = list(cautions(walk, step_cautions(walk), look))
    room = DANGER_LINES - (1 if car_line(walk) else 0)
    if len(told) + len(lines) >= room:  # word and command; hazard and consequence stop whoever finds the sign
        told = list(cautions(walk, step_cautions(walk), look, short=True))
    gap = 1 if len(told) + len(lines) >= room else 0
    return [("title", wording.DANGER_BAY), *told, *lines[gap:]]


def _once_more(walk: Walk, step: steps.MakeCheck | steps.ProveRepair) -> str:
    """Why something is asked a second time; empty if it is not."""
    if isinstance(step, steps.MakeCheck) and step.again is not None:
        leads = walk.view.repair_candidates(LEADS)
        told = wording.REPORTED_ONLY if leads else wording.REPORTED
        told = wording.LOOK_AGAIN if walk.case.answer(step.check) else told
        return told.format(result=walk.knowledge.checks[step.check].results[step.again])
    return wording.TRY_AGAIN if step.retry else ""


def _cost(walk: Walk, step: steps.MakeCheck) -> str:
    tier = wording.TIERS[walk.knowledge.checks[step.check].tier.name.lower()]
    if step.again is not None or not step.saves:
        return f"{_minutes(step.minutes)}, {tier}"
    return f"{_minutes(step.minutes)}, {tier}; saves {_minutes(step.saves)} of repair on average"


def _minutes(minutes: float) -> str:
    return f"about {minutes:.0f} min" if minutes >= 1 else "under 1 min"


def _proof(walk: Walk, step: steps.ProveRepair) -> str:
    wanted = walk.knowledge.checks[step.check].results[step.result]
    return f"Proof of the repair. It should be: {wanted}"


def _check(walk: Walk, name: str, look: Look, told: tuple[str, str]) -> list[Styled]:
    """A check with its results; `told`: why once more (or empty), and what it costs."""
    check, (once_more, cost) = walk.knowledge.checks[name], told
    lines: list[Styled] = []
    if walk.audience is Audience.PHONE:
        lines += [("say", line) for line in aloud(str(check.say), look)]
    else:
        lines += [("title", line) for line in look.wrap(check.name)]
        lines += [("say", line) for line in look.wrap(once_more, 4, "  ")] if once_more else []
        lines += cautions(walk, step_cautions(walk), look)
        lines += _details(walk, check, look)
        lines.append(("faint", cost))
    lines.append(("plain", ""))
    return [*lines, *result_lines(check, look)]


def _panel(walk: Walk, step: steps.ReadPanel, look: Look) -> list[Styled]:
    panel = walk.knowledge.panels[step.panel]
    lines: list[Styled] = [("title", panel.name), *cautions(walk, step_cautions(walk), look)]
    new = ", ".join(walk.knowledge.set_ups[name].name for name in step.set_up)
    told = (("First", new), ("When", panel.condition), ("Do", panel.do), ("So far", _found_so_far(walk, step)))
    for title, text in (*told, ("Tells", _families(walk, step))):
        if text:
            lines += [("plain", line) for line in look.wrap(text, 11, f"  {title}")]
    return [*lines, ("faint", f"{_minutes(step.minutes)}; saves {_minutes(step.saves)} of repair on average")]


def _families(walk: Walk, step: steps.ReadPanel) -> str:
    """What a panel tells: the first of its checks by name, and how many more, so that it stays on one screen."""
    names = [walk.knowledge.checks[check].name.lower() for check in step.checks]
    more = f" and {len(names) - MOST_FAMILIES} more" if len(names) > MOST_FAMILIES else ""
    return f"{', '.join(names[:MOST_FAMILIES])}{more}"


def _found_so_far(walk: Walk, step: steps.ReadPanel) -> str:
    """What a panel's own checks have shown before, as codes that were typed; they need not be typed again."""
    known, checks = walk.view.results, walk.knowledge.checks.values()
    own = (c for c in checks if c.panel == step.panel and known.get(c.id) not in (None, c.expected))
    return ", ".join(f"{check.name.lower()} ({check.results[str(known[check.id])].lower()})" for check in own)


def _set_up_cautions(walk: Walk, check: Check) -> list[str]:
    standing = walk.view.standing_set_ups()
    return [c for s in check.set_up if s not in standing for c in walk.knowledge.set_ups[s].cautions]


def _details(walk: Walk, check: Check, look: Look) -> Iterator[Styled]:
    standing = walk.view.standing_set_ups()
    new = [walk.knowledge.set_ups[s].name for s in check.set_up if s not in standing]
    fields = (
        ("First", ", ".join(new)),
        ("Where", check.point),
        ("With", check.tool),
        ("When", check.condition),
        ("Do", str(check.do or check.say)),
        ("Put back", " ".join(check.put_back)),
    )
    for title, text in fields:
        if text:
            yield from (("plain", line) for line in look.wrap(text, 11, f"  {title}"))


def result_lines(check: Check, look: Look) -> Iterator[Styled]:
    """The results of a check, each with the key that answers it."""
    for number, (name, label) in enumerate(check.results.items(), 1):
        key = name if check.reading else str(number)
        yield from (("plain", line) for line in look.wrap(label, 7 if not check.reading else 16, f"   {key}   "))


def _repair_head(walk: Walk, step: steps.DoRepair, look: Look) -> list[Styled]:
    """Which repair, who may do it, what it takes and how often it cures."""
    lines: list[Styled] = [("title", line) for line in look.wrap(f"Repair: {walk.knowledge.repairs[step.repair].name}")]
    lines += [("say", wording.SPECIALIST_ONLY)] if specialist_only(walk) else []
    chance = f"fixes it in about {round(100 * step.cures)} of 100 such cars"
    return [*lines, ("faint", f"about {step.minutes:.0f} min with parts and proof; {chance}")]


def _repair(walk: Walk, step: steps.DoRepair, look: Look, warned: bool) -> list[Styled]:
    repair = walk.knowledge.repairs[step.repair]
    lines = [*_repair_head(walk, step, look), *cautions(walk, repair_cautions(walk, step), look, short=warned)]
    new = ", ".join(walk.knowledge.set_ups[name].name for name in step.set_up)
    lines += [("plain", line) for line in look.wrap(new, 9, "  First  ")] if new else []
    for number, text in enumerate((*repair.steps, *repair.put_back), 1):
        lines += [("plain", line) for line in look.wrap(text, 6, f"  {number:2d}  ")]
    if repair.never:
        lines += [("say", line) for line in look.wrap(repair.never, 9, "  Never  ")]
    lines += procedure_lines(walk, step.repair, look, step_cautions(walk) if warned else repair_cautions(walk, step))
    proof = walk.knowledge.checks[repair.proof.check]
    wanted = proof.results[repair.proof.result]
    lines += [("plain", line) for line in look.wrap(f"{proof.name}: {wanted}", 9, "  Proof  ")]
    return lines


def foot(walk: Walk, look: Look) -> list[Styled]:
    """The keys that answer this step, and those that work everywhere."""
    return [("faint", line) for text in (hint(walk), wording.KEYS) for line in look.wrap(text)]


def hint(walk: Walk) -> str:
    """How this step can be answered, in one line."""
    match walk.step:
        case steps.DangerScreen():
            return wording.DANGER_HINT
        case steps.MakeCheck(check=check) | steps.ProveRepair(check=check):
            return _check_hint(walk.knowledge.checks[check])
        case steps.ReadPanel():
            return f"type the codes (P0171 P0507), n none stored   {wording.DONT_KNOW}"
        case steps.DoRepair():
            return "done when it is done   skip cannot do it here   hand-over pass the car on"
        case steps.Advise():
            return "y caller says yes   n no: correct it (b, edit)   refused WHO SAID WHAT"
        case steps.HandOver():
            return "y hand the car over   b back"
        case steps.CloseCase():
            return "y   1 or 1 3   other WORDS   d nobody saw which   b back"
        case steps.Finished(how=how):
            other = wording.AFTER_HAND_OVER_HINT if how == "handed over" else wording.AFTER_END_HINT
            return wording.AFTER_HINT if how == "advised" else other
        case steps.ChooseService():
            return wording.SERVICE_HINT
        case steps.ChooseComplaint():
            return "type some words   d they cannot say   ? for help"
        case _:
            return "type a number"


def _check_hint(check: Check) -> str:
    if check.reading:
        return f"type the reading in {check.reading.unit}, over range, or no reading   {wording.DONT_KNOW}"
    yes_no = "   or y n" if set(check.results) == {"no", "yes"} else ""
    return f"type a number{yes_no}   {wording.DONT_KNOW}"
