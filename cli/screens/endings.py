"""The steps in which a walk ends: advice to the caller, handing over, closing; pure functions."""

from comeback.cli.look import Look, Styled, aloud
from comeback.cli.screens import wording
from comeback.cli.screens.advice_now import advice_now, advice_text, clock
from comeback.cli.screens.cautions import cautions
from comeback.cli.screens.closing_cause import choices
from comeback.cli.screens.spoken import confirm_back, words_to_say
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience, Disposition

__all__ = ["advise", "close", "confirm_back", "finished", "hand_over"]

STILL_LIKELY = 0.5
"""Chance from which a cause that is left is named before a case is closed."""


def advise(walk: Walk, step: steps.Advise, look: Look, said: bool) -> list[Styled]:
    """The advice; `said`: it was read aloud on a stop screen just before, and only the read-back is left."""
    told = walk.effective_advice(step.disposition)
    advice = walk.knowledge.dispositions[told]
    when = "" if advice.within.lower() in advice.name.lower() else f"  -  {advice.within}"
    lines: list[Styled] = [("caution" if told >= 3 else "title", f"{advice.name}{when}")]
    if walk.case.overrides:
        last = walk.case.overrides[-1]
        second = f", with {last.second}" if last.second else ""
        text = f"Set by {last.by}{second}: {last.reason}. The ruling was: {step.disposition.word}."
        lines += [("plain", line) for line in look.wrap(text)]
    before = walk.case.last_told
    if before is not None and before.disposition != told.word:
        lines += [("plain", line) for line in look.wrap(f"Advice before: {_before(walk)}.")]
    if not said:
        lines += [("say", line) for line in aloud(" ".join(words_to_say(walk, advice)), look)]
        lines += [("say", line) for line in look.wrap(f'"{" ".join(advice.worse)}"', 12, "and         ")]
    lines.append(("plain", ""))
    for text in advice.promise_not:
        lines += [("faint", line) for line in look.wrap(text, 12, "For you     ")]
    lines.append(("plain", ""))
    lines += [("say", line) for line in look.wrap(f'"{confirm_back(walk, step)}"', 12, "Read back   ")]
    return lines


def _before(walk: Walk) -> str:
    told = walk.case.last_told
    return f"{told.disposition}, {told.how}, {clock(told.at, walk.case.opened_at)}" if told else ""


def finished(walk: Walk, how: str, look: Look) -> list[Styled]:
    """An ended walk that is opened again: how it ended, and what can be done now."""
    lines: list[Styled] = [("title", wording.FINISHED[how])]
    case = walk.case
    last = case.last_told
    if last is not None:
        name = walk.knowledge.dispositions[Disposition.of(last.disposition)].name
        text = f"{name} ({advice_text(advice_now(walk.knowledge, walk.events), case.opened_at)})"
        lines += [("say", line) for line in look.wrap(text, 2, "  ")]
        if last.words:
            lines += [("say", line) for line in look.wrap(f"Refused: {last.words} ({last.by})", 2, "  ")]
    lines.append(("plain", ""))
    on_the_phone = how == "advised" and walk.audience is Audience.PHONE
    keys: tuple[str, ...] = wording.AFTER_CALL if on_the_phone else wording.AFTER_END
    if how == "handed over":
        text = f"{case.handed_over}"
        lines[-1:] = [*(("say", line) for line in look.wrap(text[:1].upper() + text[1:], 2, "  ")), ("plain", "")]
        keys = (*wording.AFTER_HAND_OVER, *wording.AFTER_END)
    return [*lines, *(("plain", text) for text in keys)]


def hand_over(walk: Walk, reason: str, repair: str | None, look: Look) -> list[Styled]:
    """One's own level ends here: why, which repair, what leads."""
    lines: list[Styled] = [("title", "Stop here and hand over.")]
    lines += [("plain", line) for line in look.wrap(f"{reason[0].upper()}{reason[1:]}.")]
    if repair:
        lines += [("plain", line) for line in look.wrap(walk.knowledge.repairs[repair].name, 9, "Repair   ")]
        lines += cautions(walk, walk.knowledge.repairs[repair].cautions, look)
    for cause, chance in walk.view.repair_candidates()[:4]:
        lines.append(("plain", f"  {round(100 * chance):3d} %  {walk.knowledge.causes[cause].name}"))
    return lines


def close(walk: Walk, step: steps.CloseCase, look: Look) -> list[Styled]:
    """Complaint, cause, correction, to be confirmed."""
    knowledge = walk.knowledge
    causes = ", ".join(knowledge.causes[c].name for c in step.causes) or "not found"
    repairs = ", ".join(knowledge.repairs[r].name for r in step.repairs)
    lines: list[Styled] = [("title", line) for line in look.wrap(wording.PROVEN if step.proven else wording.UNPROVEN)]
    left = walk.view.repair_candidates(STILL_LIKELY)
    likely = [f"{knowledge.causes[cause].name} ({round(100 * chance)} of 100)" for cause, chance in left]
    for title, text in (
        ("Complaint", walk.case.words or knowledge.complaints[step.complaint].name),
        ("Correction", repairs),
        ("Cause", causes),
        ("Unneeded", ", ".join(knowledge.repairs[r].name for r in step.in_vain)),
    ):
        lines += [("plain", line) for line in look.wrap(text, 16, f"  {title}") if text]
    lines.append(("title", wording.WHICH_CAUSE))
    y, others, *rest = wording.CLOSE_KEYS
    lines += [("plain", y if step.causes else y.replace("named above was found", "was not found")), ("plain", others)]
    for number, cause in enumerate(choices(walk, step), 1):
        lines += [("plain", line) for line in look.wrap(knowledge.causes[cause].name, 11, f"       {number}")]
    lines += [("plain", text) for text in rest]
    if likely:
        text = wording.STILL_LIKELY.format(causes="; ".join(likely[:2]))
        lines += [("plain", ""), *(("say", line) for line in look.wrap(text, 2, "  "))]
    return lines
