"""The steps in which a walk ends: advice to the caller, handing over, closing; pure functions."""

from collections.abc import Sequence

from comeback.cli.look import Look, Styled, aloud
from comeback.cli.screens import wording
from comeback.cli.screens.advice_now import advice_now, advice_text, clock
from comeback.cli.screens.cautions import cautions, read_on_stops, reminders
from comeback.cli.screens.event_text import complaints_text
from comeback.cli.screens.spoken import confirm_back, when, words_to_say
from comeback.engine.case.facts import Closed
from comeback.engine.walk import steps
from comeback.engine.walk.closing import alternatives
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import Advice, KnowledgeBase, Remedy
from comeback.kb.vocabulary import Audience, Disposition

STILL_LIKELY = 0.5
"""Chance from which a cause that is left is named before a case is closed."""
MOST_CAUSES = 5
LEAST_CHANCE = 0.02
"""Chance below which a cause that the repair removes is not offered, but for those that are named."""
CONFIRMED, CHOSEN, IN_WORDS, NOT_SEEN, PASSED = "confirmed", "chosen", "in words", "not seen", "passed"
"""How a person named the cause: the one proposed, one of the others, one that is not listed, none, none to repair."""
NO_CORRECTION = {PASSED: "it stopped by itself"}


def advise(walk: Walk, step: steps.Advise, look: Look, said: bool) -> list[Styled]:
    """The advice; `said`: it was read aloud on a stop screen just before, and only the read-back is left."""
    told = walk.effective_advice(step.disposition)
    advice = walk.knowledge.dispositions[told]
    within = f"  -  {when(advice)}" if when(advice) else ""
    title = wording.SOLVED if step.solved and told is Disposition.WATCH else f"{advice.name}{within}"
    lines: list[Styled] = [("caution" if told >= Disposition.TOW else "title", title)]
    if step.solved and walk.remedy and walk.remedy.remedy:
        lines += not_if(walk.remedy.remedy, look)
    for last in walk.case.overrides[-1:]:
        second = f", with {last.second}" if last.second else ""
        lines += look.styled(
            "plain", f"Set by {last.by}{second}: {last.reason}. The ruling was: {step.disposition.word}."
        )
    before = walk.case.last_told
    if before is not None and before.disposition != told.word:
        earlier = f"{before.disposition}, {before.how}, {clock(before.at, walk.case.opened_at)}"
        lines += look.styled("plain", f"Advice before: {earlier}.")
    lines += [] if said else advice_aloud(walk, advice, look)
    lines.append(("plain", ""))
    for text in advice.promise_not:
        lines += look.styled("faint", text, 12, "For you     ")
    return [*lines, ("plain", ""), *look.styled("say", f'"{confirm_back(walk, step)}"', 12, "Read back   ")]


def not_if(remedy: Remedy, look: Look) -> list[Styled]:
    """The people or states of the car for which the remedy is not safe."""
    return look.styled("caution", f"{remedy.not_if[:1].lower()}{remedy.not_if[1:]}", 12, "Not if      ")


def advice_aloud(walk: Walk, advice: Advice, look: Look) -> list[Styled]:
    """What is read to the caller: what to do, and what to do if it gets worse."""
    worse = look.styled("say", f'"{" ".join(advice.worse)}"', 12, "and         ")
    return [*aloud(" ".join(words_to_say(walk, advice)), look), *worse]


def ended(walk: Walk, how: str) -> str:
    """How the walk ended, in a sentence."""
    return f"{wording.SOLVED}." if walk.case.solved else wording.FINISHED[how]


def finished(walk: Walk, how: str, look: Look) -> list[Styled]:
    """An ended walk that is opened again: how it ended, and what can be done now."""
    case, last = walk.case, walk.case.last_told
    lines: list[Styled] = [("title", ended(walk, how))]
    if last is not None:
        name = walk.knowledge.dispositions[Disposition.of(last.disposition)].name
        now = advice_text(advice_now(walk.knowledge, walk.events), case.opened_at)
        lines += look.styled("say", f"{name} ({now})", 2, "  ")
        lines += look.styled("say", f"Refused: {last.words} ({last.by})", 2, "  ") if last.words else []
    keys: tuple[str, ...] = wording.AFTER_END
    if how == "advised" and walk.audience is Audience.PHONE:
        keys = wording.AFTER_CALL
    if how == "handed over":
        text, keys = f"{case.handed_over}", (*wording.AFTER_HAND_OVER, *wording.AFTER_END)
        lines += look.styled("say", text[:1].upper() + text[1:], 2, "  ")
    return [*lines, ("plain", ""), *(("plain", text) for text in keys)]


def hand_over(walk: Walk, step: steps.HandOver, step_cautions: Sequence[str], look: Look) -> list[Styled]:
    """One's own level ends here: why, which repair, what leads; of a car that is not covered nothing leads."""
    lines: list[Styled] = [("title", "Stop here and hand over.")]
    lines += look.styled("plain", f"{step.reason[0].upper()}{step.reason[1:]}.")
    if step.repair:
        lines += look.styled("plain", walk.knowledge.repairs[step.repair].name, 9, "Repair   ")
    read = read_on_stops(walk)
    lines += reminders(walk, [name for name in step_cautions if name in read], look)
    lines += cautions(walk, [name for name in step_cautions if name not in read], look)
    if walk.view.not_covered:
        return lines
    for cause, chance in walk.view.repair_candidates()[:4]:
        lines.append(("plain", f"  {round(100 * chance):3d} %  {walk.knowledge.causes[cause].name}"))
    return lines


def close(walk: Walk, step: steps.CloseCase, look: Look) -> list[Styled]:
    """Complaint, cause, correction, to be confirmed."""
    knowledge, named = walk.knowledge, complaints_text(walk.knowledge, walk.case.complaints)
    passed, pick = not step.repairs, alternatives(walk.knowledge, step)
    apart = " or " if pick else ", "
    lines = look.styled(
        "title", wording.PASSED_CLOSE if passed else wording.PROVEN if step.proven else wording.UNPROVEN
    )
    for title, text in (
        ("Complaint", walk.case.words or named),
        ("Correction", ", ".join(knowledge.repairs[r].name for r in step.repairs)),
        ("Cause", apart.join(knowledge.causes[c].name for c in step.causes) or "not found"),
        ("Unneeded", ", ".join(knowledge.repairs[r].name for r in step.in_vain)),
    ):
        lines += look.styled("plain", text, 16, f"  {title}")
    if passed:
        told = f"Tell the customer to come back if it returns: {named.lower()}."
        return [*lines, *look.styled("say", told, 2, "  "), ("plain", ""), *(("plain", x) for x in wording.PASSED_KEYS)]
    lines.append(("title", wording.WHICH_CAUSE))
    y, others, *rest = wording.CLOSE_KEYS
    y = y if step.causes else y.replace("named above was found", "was not found")
    listed = listed_causes(walk, step)
    lines += [("plain", text) for text in (y, others)[pick : 1 + bool(listed)]]
    for number, cause in enumerate(listed, 1):
        lines += look.styled("plain", knowledge.causes[cause].name, 11, f"       {number}")
    lines += [("plain", text) for text in rest]
    left = walk.view.repair_candidates(STILL_LIKELY)[:2]
    likely = "; ".join(f"{knowledge.causes[cause].name} ({round(100 * chance)} of 100)" for cause, chance in left)
    if likely:
        lines += [("plain", ""), *look.styled("say", wording.STILL_LIKELY.format(causes=likely), 2, "  ")]
    return lines


def close_hint(walk: Walk, step: steps.CloseCase) -> str:
    """How the closing can be answered, in one line."""
    if not step.repairs:
        return "y close it   other WORDS   b back"
    keys = ("" if alternatives(walk.knowledge, step) else "y", "1 or 1 3" if listed_causes(walk, step) else "")
    return "   ".join((*filter(None, keys), "other WORDS", "d nobody saw which", "b back"))


def listed_causes(walk: Walk, step: steps.CloseCase) -> tuple[str, ...]:
    """The causes to pick from by number; none where `y` names the only one."""
    listed = choices(walk, step)
    return () if listed == step.causes and not alternatives(walk.knowledge, step) else listed


def choices(walk: Walk, step: steps.CloseCase) -> tuple[str, ...]:
    """Causes that the repairs remove: those named first, then by their chance of having been there."""
    places, belief = walk.view.network.places, walk.view.belief
    repairs = walk.knowledge.repairs
    removed = {cause for repair in step.repairs for cause in repairs[repair].removes if cause in places}
    chances = {cause: float(belief.was_present[places[cause]]) for cause in removed}
    likely = sorted((c for c, p in chances.items() if p >= LEAST_CHANCE), key=lambda c: (-chances[c], c))
    return tuple(dict.fromkeys((*step.causes, *likely)))[: max(MOST_CAUSES, len(step.causes))]


def cause_text(knowledge: KnowledgeBase, closed: Closed) -> str:
    """The recorded cause in words, with how it was named."""
    names = [knowledge.causes[c].name if c in knowledge.causes else c for c in closed.causes]
    told = closed.cause_words or ", ".join(names) or "not found"
    how = {
        CONFIRMED: " (named by the program, confirmed)", CHOSEN: " (chosen)", IN_WORDS: " (in the technician's words)",
        NOT_SEEN: " (nobody saw which)", PASSED: " (stopped by itself)",
    }.get(closed.cause_named, "")  # fmt: skip
    return f"{told}{how}"
