"""The steps in which a walk ends: advice to the caller, handing over, closing; pure functions."""

from comeback.cli import wording
from comeback.cli.cautions import aloud, cautions
from comeback.cli.look import Look, Styled
from comeback.engine import steps
from comeback.engine.walk import Walk

STILL_LIKELY = 0.5
"""Chance from which a cause that is left is named before a case is closed."""


def advise(walk: Walk, step: steps.Advise, look: Look, said: bool) -> list[Styled]:
    """The advice; `said`: it was read aloud on a stop screen just before, and only the read-back is left."""
    told = walk.told(step.disposition)
    advice = walk.knowledge.dispositions[told]
    when = "" if advice.within.lower() in advice.name.lower() else f"  -  {advice.within}"
    lines: list[Styled] = [("caution" if told >= 3 else "title", f"{advice.name}{when}")]
    if walk.case.overrides:
        last = walk.case.overrides[-1]
        second = f", with {last.second}" if last.second else ""
        text = f"Set by {last.by}{second}: {last.reason}. The ruling was: {step.disposition.word}."
        lines += [("plain", line) for line in look.wrap(text)]
    if not said:
        lines += [("say", line) for line in aloud(" ".join(advice.say), look)]
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
    service = knowledge.services[case.service].plain if case.service else "service"
    said = case.words or (knowledge.complaints[case.complaint].name if case.complaint else "there is danger")
    said = " ".join(said.split()[:20])
    flags = [knowledge.checks[flag].name.lower() for flag in step.flags][:2]
    signs = f"Danger signs: {', '.join(flags)}." if flags else "You see no danger signs."
    advice = knowledge.dispositions[walk.told(step.disposition)]
    when = "" if advice.within.lower() in advice.name.lower() else f" {advice.within}."
    return f"You say: {said}. It began after the {service}. {signs} My advice: {advice.name}.{when} Is that right?"


def hand_over(walk: Walk, reason: str, repair: str | None, look: Look) -> list[Styled]:
    """One's own level ends here: why, which repair, what leads."""
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


def close(walk: Walk, step: steps.CloseCase, look: Look) -> list[Styled]:
    """Complaint, cause, correction, to be confirmed."""
    knowledge = walk.knowledge
    causes = ", ".join(knowledge.causes[c].name for c in step.causes) or "not found"
    repairs = ", ".join(knowledge.repairs[r].name for r in step.repairs)
    lines: list[Styled] = [("title", line) for line in look.wrap(wording.PROVEN if step.proven else wording.UNPROVEN)]
    lines.append(("plain", ""))
    left = walk.situation.repair_candidates(STILL_LIKELY)
    likely = [f"{knowledge.causes[cause].name} ({round(100 * chance)} of 100)" for cause, chance in left]
    for title, text in (
        ("Complaint", walk.case.words or knowledge.complaints[step.complaint].name),
        ("Cause", causes),
        ("Correction", repairs),
    ):
        lines += [("plain", line) for line in look.wrap(text, 14, f"  {title}")]
    if likely:
        text = wording.STILL_LIKELY.format(causes="; ".join(likely[:2]))
        lines += [("plain", ""), *(("say", line) for line in look.wrap(text, 2, "  "))]
    return lines
