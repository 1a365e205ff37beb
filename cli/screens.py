"""A step of the walk as lines of text, for each audience; pure functions, nothing is printed here."""

from collections.abc import Iterator, Sequence

from comeback.cli import wording
from comeback.cli.look import Look, Styled
from comeback.engine import steps
from comeback.engine.walk import Walk
from comeback.kb.schema import Check
from comeback.kb.vocabulary import FEATURE_NAMES, FEATURE_VALUES, Audience, SignalWord


def head(walk: Walk, look: Look) -> list[Styled]:
    """Which case, for whom, after which service, with which complaint."""
    case, knowledge = walk.case, walk.knowledge
    name = f"case {case.id}" if case.id and case.id != "-" else "new case"
    parts = [name, walk.audience.value]
    if case.service:
        parts.append(knowledge.services[case.service].plain)
    if case.complaint:
        parts.append(knowledge.complaints[case.complaint].name.lower())
    line = "  ·  ".join(parts)[: look.width - 1]
    return [("faint", look.rule), ("title", line)]


def cautions(walk: Walk, names: Sequence[str], look: Look, short: bool = False) -> Iterator[Styled]:
    """Signal word, what to do, what the hazard is, what happens: before the step they belong to.

    `short`, for cautions that were read on a screen of their own just before: word and command only.
    """
    for name in _gravest_first(walk, names):
        caution = walk.knowledge.cautions[name]
        word = caution.word.value
        sign = "" if caution.word is SignalWord.NOTICE else f"{look.alert} "
        lead = f"{sign}{word}  "
        yield ("caution", look.wrap(caution.avoid, len(lead), lead)[0])
        for line in look.wrap(caution.avoid, len(lead), lead)[1:]:
            yield ("caution", line)
        if not short:
            yield from (("plain", line) for line in look.wrap(f"{caution.hazard} {caution.consequence}", len(lead)))


def _gravest_first(walk: Walk, names: Sequence[str]) -> list[str]:
    order = list(SignalWord)
    return sorted(dict.fromkeys(names), key=lambda name: order.index(walk.knowledge.cautions[name].word))


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
        case steps.DoRepair(repair=repair):
            return list(knowledge.repairs[repair].cautions)
        case steps.HandOver(repair=str(repair)):
            return list(knowledge.repairs[repair].cautions)
    return []


def warning_screen(walk: Walk, look: Look) -> list[Styled]:
    """The cautions of a long step on a screen of their own; a word must be typed to go on."""
    lines: list[Styled] = [("title", "Read this first.")]
    return [*lines, *cautions(walk, step_cautions(walk), look), ("faint", wording.GATE_HINT)]


def body(walk: Walk, look: Look, warned: bool = False) -> list[Styled]:
    """The current step. `warned`: its cautions were just read on a screen of their own."""
    match walk.step:
        case steps.ChooseService(services):
            return _choices("Which service was done?", [walk.knowledge.services[s].name for s in services], look)
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
            return _check(walk, step.check, look, _cost(walk, step), warned)
        case steps.ReadPanel() as step:
            return _panel(walk, step, look, warned)
        case steps.ProveRepair(check=check) as step:
            return _check(walk, check, look, _proof(walk, step), warned)
        case steps.DoRepair() as step:
            return _repair(walk, step, look, warned)
        case steps.Advise() as step:
            return _advise(walk, step, look)
        case steps.HandOver(reason, repair):
            return _hand_over(walk, reason, repair, look)
        case steps.CloseCase() as step:
            return _close(walk, step, look)
        case steps.TakeOneBack(checks, results):
            names = [
                f"{walk.knowledge.checks[c].name}: {walk.knowledge.checks[c].results[r]}"
                for c, r in zip(checks, results, strict=True)
            ]
            return _choices("These two cannot both be true. Which one do you take back?", names, look)
        case steps.Finished(how=how):
            return [("title", f"This case is {how}.")]


def _choices(question: str, names: Sequence[str], look: Look) -> list[Styled]:
    lines: list[Styled] = [("title", question), ("plain", "")]
    for number, name in enumerate(names, 1):
        lines += [("plain", line) for line in look.wrap(name, 7, f"   {number}   ")]
    return lines


def _open_question(walk: Walk, look: Look) -> list[Styled]:
    lines: list[Styled] = []
    if walk.audience is Audience.PHONE:
        lines += [("say", line) for line in _aloud(" ".join(wording.STOP_SAFELY), look)]
        lines += [("say", line) for line in _aloud(wording.OPEN_QUESTION, look)]
        lines += [("faint", "Type the customer's own words; the nearest complaints are listed for you.")]
    else:
        lines += [("title", "What does the customer report? Type it in the customer's words.")]
    return lines


def matches(walk: Walk, found: Sequence[str], look: Look) -> list[Styled]:
    """The complaints that the customer's words may mean, nearest first."""
    names = [walk.knowledge.complaints[name].name for name in found]
    return _choices("Which of these is it?", names, look)


def _aloud(text: str, look: Look) -> list[str]:
    return look.wrap(f'"{text}"', 12, "Read aloud  ")


def _danger(walk: Walk, checks: Sequence[str], look: Look) -> list[Styled]:
    knowledge, phone = walk.knowledge, walk.audience is Audience.PHONE
    lines: list[Styled] = []
    if phone:
        lines += [("say", line) for line in _aloud(wording.DANGER_PHONE, look)]
    else:
        lines += [("title", wording.DANGER_BAY)]
        lines += cautions(walk, [c for check in checks for c in knowledge.checks[check].cautions][:2], look)
    lines.append(("plain", ""))
    for number, name in enumerate(checks, 1):
        check = knowledge.checks[name]
        labels = list(check.results.values())[1:]
        shown = labels[0] if len(labels) == 1 else "  ".join(f"{'abcdefg'[i]} {x}" for i, x in enumerate(labels))
        ask = check.say if phone else check.name
        lines += [("say", line) for line in look.wrap(str(ask), 7, f"   {number}   ")]
        lines += [("faint", line) for line in look.wrap(shown, 11, "         = ")]
    return lines


def _cost(walk: Walk, step: steps.MakeCheck) -> str:
    tier = wording.TIERS[walk.knowledge.checks[step.check].tier.name.lower()]
    return f"{_minutes(step.minutes)}, {tier}; saves {_minutes(step.saves)} of repair on average"


def _minutes(minutes: float) -> str:
    return f"about {minutes:.0f} min" if minutes >= 1 else "under 1 min"


def _proof(walk: Walk, step: steps.ProveRepair) -> str:
    wanted = walk.knowledge.checks[step.check].results[step.result]
    return f"Proof of the repair. It should be: {wanted}"


def _check(walk: Walk, name: str, look: Look, cost: str, warned: bool) -> list[Styled]:
    check = walk.knowledge.checks[name]
    lines: list[Styled] = []
    if walk.audience is Audience.PHONE:
        lines += [("say", line) for line in _aloud(str(check.say), look)]
    else:
        lines += cautions(walk, step_cautions(walk), look, short=warned)
        lines += [("title", line) for line in look.wrap(check.name)]
        lines += _details(walk, check, look)
        lines.append(("faint", cost))
    lines.append(("plain", ""))
    return [*lines, *_results(check, look)]


def _panel(walk: Walk, step: steps.ReadPanel, look: Look, warned: bool) -> list[Styled]:
    panel = walk.knowledge.panels[step.panel]
    lines: list[Styled] = list(cautions(walk, step_cautions(walk), look, short=warned))
    lines.append(("title", panel.name))
    new = ", ".join(walk.knowledge.set_ups[name].name for name in step.set_up)
    for title, text in (("First", new), ("When", panel.condition), ("Do", panel.do)):
        if text:
            lines += [("plain", line) for line in look.wrap(text, 11, f"  {title}")]
    cost = f"{_minutes(step.minutes)}; saves {_minutes(step.saves)} of repair on average"
    lines += [("faint", cost), ("plain", "")]
    families = ", ".join(walk.knowledge.checks[check].name.lower() for check in step.checks)
    return [*lines, *(("plain", line) for line in look.wrap(families, 11, "  Tells"))]


def _set_up_cautions(walk: Walk, check: Check) -> list[str]:
    standing = walk.situation.standing_set_ups()
    return [c for s in check.set_up if s not in standing for c in walk.knowledge.set_ups[s].cautions]


def _details(walk: Walk, check: Check, look: Look) -> Iterator[Styled]:
    standing = walk.situation.standing_set_ups()
    new = [walk.knowledge.set_ups[s].name for s in check.set_up if s not in standing]
    fields = (
        ("First", ", ".join(new)),
        ("Where", check.point),
        ("With", check.tool),
        ("When", check.condition),
        ("Do", str(check.do)),
        ("Put back", " ".join(check.put_back)),
    )
    for title, text in fields:
        if text:
            yield from (("plain", line) for line in look.wrap(text, 11, f"  {title}"))


def _results(check: Check, look: Look) -> Iterator[Styled]:
    for number, (name, label) in enumerate(check.results.items(), 1):
        key = name if check.reading else str(number)
        yield from (("plain", line) for line in look.wrap(label, 7 if not check.reading else 16, f"   {key}   "))


def _repair(walk: Walk, step: steps.DoRepair, look: Look, warned: bool) -> list[Styled]:
    repair = walk.knowledge.repairs[step.repair]
    lines: list[Styled] = list(cautions(walk, step_cautions(walk), look, short=warned))
    lines.append(("title", f"Repair: {repair.name}"))
    chance = f"cures it in about {round(100 * step.cures)} of 100 such cars"
    lines.append(("faint", f"about {step.minutes:.0f} min with parts and proof; {chance}"))
    for number, text in enumerate((*repair.steps, *repair.put_back), 1):
        lines += [("plain", line) for line in look.wrap(text, 6, f"  {number:2d}  ")]
    if repair.never:
        lines += [("say", line) for line in look.wrap(repair.never, 9, "  Never  ")]
    proof = walk.knowledge.checks[repair.proof.check]
    wanted = proof.results[repair.proof.result]
    lines += [("plain", line) for line in look.wrap(f"{proof.name}: {wanted}", 9, "  Proof  ")]
    return lines


def _advise(walk: Walk, step: steps.Advise, look: Look) -> list[Styled]:
    advice = walk.knowledge.dispositions[step.disposition]
    when = "" if advice.within.lower() in advice.name.lower() else f"  -  {advice.within}"
    lines: list[Styled] = [("caution" if step.disposition >= 3 else "title", f"{advice.name}{when}")]
    lines += [("say", line) for line in _aloud(" ".join(advice.say), look)]
    lines += [("say", line) for line in look.wrap(f'"{" ".join(advice.worse)}"', 12, "and         ")]
    lines.append(("plain", ""))
    for text in advice.promise_not:
        lines += [("faint", line) for line in look.wrap(text, 12, "Not aloud   ")]
    lines.append(("plain", ""))
    lines += [("say", line) for line in look.wrap(f'"{confirm_back(walk, step)}"', 12, "Read back   ")]
    return lines


def confirm_back(walk: Walk, step: steps.Advise) -> str:
    """Complaint, last service, danger signs and advice in one paragraph of at most 75 words."""
    case, knowledge = walk.case, walk.knowledge
    service = knowledge.services[case.service or ""].plain
    said = case.words or knowledge.complaints[case.complaint or ""].name
    said = " ".join(said.split()[:20])
    flags = [knowledge.checks[flag].name.lower() for flag in step.flags][:2]
    signs = f"Danger signs: {', '.join(flags)}." if flags else "You see no danger signs."
    advice = knowledge.dispositions[step.disposition]
    when = "" if advice.within.lower() in advice.name.lower() else f" {advice.within}."
    return f"You say: {said}. It began after the {service}. {signs} My advice: {advice.name}.{when} Is that right?"


def _hand_over(walk: Walk, reason: str, repair: str | None, look: Look) -> list[Styled]:
    lines: list[Styled] = []
    if repair:
        lines += cautions(walk, walk.knowledge.repairs[repair].cautions, look)
    lines.append(("title", "Stop here and hand over."))
    lines += [("plain", line) for line in look.wrap(f"{reason[0].upper()}{reason[1:]}.")]
    if repair:
        lines += [("plain", line) for line in look.wrap(walk.knowledge.repairs[repair].name, 9, "Repair   ")]
    for cause, chance in walk.situation.repair_candidates()[:4]:
        lines.append(("plain", f"  {round(100 * chance):3d} %  {walk.knowledge.causes[cause].name}"))
    return lines


def _close(walk: Walk, step: steps.CloseCase, look: Look) -> list[Styled]:
    knowledge = walk.knowledge
    causes = ", ".join(knowledge.causes[c].name for c in step.causes) or "not found"
    repairs = ", ".join(knowledge.repairs[r].name for r in step.repairs)
    proof = "The repair is proven." if step.proven else "The complaint is gone, but the repair was not proven."
    lines: list[Styled] = [("title", f"{proof} Close the case?"), ("plain", "")]
    for title, text in (
        ("Complaint", walk.case.words or knowledge.complaints[step.complaint].name),
        ("Cause", causes),
        ("Correction", repairs),
    ):
        lines += [("plain", line) for line in look.wrap(text, 14, f"  {title}")]
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
            return "done when it is done   skip cannot do it here   hand-over give the car on"
        case steps.Advise():
            return "y caller says yes   n caller says no (then correct with b)"
        case steps.HandOver():
            return "y hand the car over   b back"
        case steps.CloseCase():
            return "y close the case   b back"
        case steps.ChooseService():
            return "type a number, or a word of its name"
        case steps.ChooseComplaint():
            return "type some words, or ? for help"
        case _:
            return "type a number"


def _check_hint(check: Check) -> str:
    if check.reading:
        return f"type the reading in {check.reading.unit}, or a word from the list   {wording.DONT_KNOW}"
    yes_no = "   or y n" if set(check.results) == {"no", "yes"} else ""
    return f"type a number{yes_no}   {wording.DONT_KNOW}"
