"""Stop screens: dangers on a screen of their own, passed only by typing a word, and logged."""

from collections.abc import Collection
from dataclasses import dataclass

from comeback.cli.look import Look, Styled, aloud
from comeback.cli.screens import screens, wording
from comeback.cli.screens.cautions import despite_lines, fitting_cautions, gravest_first
from comeback.cli.screens.endings import advice_aloud
from comeback.cli.screens.spoken import advice_lines, advised_signs, stands_out, words_to_say
from comeback.cli.words.search import named_signs, will_not_slow
from comeback.engine.case.case import Answer, standing
from comeback.engine.case.facts import Driving, Warned, fact_of
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience, Disposition

MOST_LINES = 19
DRIVING_KEY = "driving"


@dataclass(frozen=True)
class Stop:
    """A stop screen: `word` passes it, once in a sitting or (key "step ...") until the next answer; all is logged."""

    key: str
    word: str
    lines: tuple[Styled, ...]
    seen: Warned
    hint: str = ""


def stop_before(walk: Walk, look: Look, passed: Collection[str] = ()) -> Stop | None:
    """The stop screen that belongs before the walk's step.

    `passed`: keys of those already passed; one for danger signs then makes room for the step's own.
    """
    if walk.audience is Audience.PHONE:
        said = [fact.driving for fact in map(fact_of, standing(walk.events)) if isinstance(fact, Driving)]
        if said and said[-1] is not False and DRIVING_KEY not in passed:  # who cannot tell counts as driving
            return driving_stop(look, wording.IS_DRIVING if said[-1] else wording.MAY_DRIVE)
        if isinstance(walk.step, steps.Advise):
            return _told(walk, walk.step, look)
        return None
    if "advice" not in passed and not isinstance(walk.step, steps.Finished):
        told = told_to_bay(walk, look)
        if told is not None:
            return told
    flags = raised(walk)
    if flags and not isinstance(walk.step, steps.DangerScreen | steps.Finished):
        stop = _flags(walk, flags, look)
        if stop.key not in passed:
            return stop
    if not screens.specialist_only(walk):
        return None
    found = step_stops(walk, look)
    return next((stop for stop in found if stop.key not in passed), found[-1] if found else None)


def step_stops(walk: Walk, look: Look) -> list[Stop]:
    """What the step is and its cautions, on as many stop screens as they need, the gravest first."""
    groups: list[list[str]] = []
    box = despite_lines(walk, look)
    for name in gravest_first(walk, screens.step_cautions(walk)):
        if groups and len(box) + len(screens.warning_screen(walk, [*groups[-1], name], look)) <= MOST_LINES:
            groups[-1].append(name)
        else:
            groups.append([name])
    return [
        Stop(f"step {number} {walk.step}", wording.GATE_WORD,
             (*box, *screens.warning_screen(walk, group, look)), Warned(cautions=tuple(group)), hint=wording.GATE_HINT)
        for number, group in enumerate(groups, 1)
    ]  # fmt: skip


def raised(walk: Walk) -> list[Answer]:
    """Danger signs seen in the bay since the last repair."""
    latest = {a.check: a for a in walk.case.answers if a.epoch == walk.case.epoch}
    in_bay = (a for a in latest.values() if a.audience is Audience.BAY and a.check in walk.knowledge.checks)
    return [answer for answer in in_bay if answer.result in walk.knowledge.checks[answer.check].red_flag]


def on_the_road(knowledge: KnowledgeBase, text: str) -> str:
    """What a driver does first about a danger that was named; empty if none was that stopping alone does not end."""
    if will_not_slow(knowledge, text):
        return wording.WILL_NOT_SLOW
    signs = named_signs(knowledge, text)
    return next((said for sign, said in wording.ON_THE_ROAD.items() if sign in signs), "")


def driving_stop(look: Look, why: str, before: str = "") -> Stop:
    """What is read to a caller who drives; `before`: what to do about a danger named, said before all else."""
    said = " ".join(wording.STOP_SAFELY)
    first, then = (before, said) if before else (said, wording.WILL_NOT_SLOW)
    lines = [
        ("caution", f"{look.alert} WARNING  {why}"),
        *aloud(first, look),
        *look.styled("say", f'"{then}"', 12, "and         "),
        *look.styled("faint", wording.WHY_NOT_OFF, 12, "For you     "),
        ("faint", wording.DRIVING_STOP),
    ]
    return Stop(DRIVING_KEY, "stopped", tuple(lines), Warned("driving"), wording.DRIVING_STOP)


def _told(walk: Walk, step: steps.Advise, look: Look) -> Stop | None:
    told = walk.effective_advice(step.disposition)
    if told < Disposition.TOW:
        return None
    advice = walk.knowledge.dispositions[told]
    lines = look.styled("caution", f"{look.alert} WARNING  {advice.name}")
    lines += [*advice_aloud(walk, advice, look), ("plain", ""), ("faint", wording.TOLD_HINT)]
    seen = Warned(told.word, said=(*words_to_say(walk, advice), *advice.worse))
    return Stop(f"told {told.word}", "told", tuple(lines), seen, wording.TOLD_HINT)


def told_to_bay(walk: Walk, look: Look) -> Stop | None:
    """What the bay must know first of an advice with danger in it: what was told, why, and that danger's cautions."""
    if not stands_out(walk):
        return None
    names = [c for sign in advised_signs(walk) for c in walk.knowledge.checks[sign].cautions]
    seen = Warned("advice", signs=tuple(advised_signs(walk)), cautions=tuple(dict.fromkeys(names)))
    return _made_safe(walk, "advice", advice_lines(walk, look), names, seen, look)


def _flags(walk: Walk, flags: list[Answer], look: Look) -> Stop:
    checks = walk.knowledge.checks
    names = [c for answer in flags for c in checks[answer.check].cautions]
    lines: list[Styled] = [("caution", f"{look.alert} WARNING  Danger signs found. Make it safe before anything else.")]
    for answer in flags:
        check = checks[answer.check]
        lines += look.styled("plain", f"{check.name}: {check.results[answer.result or check.expected]}", 4, "  ! ")
    key = "flags " + " ".join(sorted(answer.check for answer in flags))
    seen = Warned("danger signs", flags=tuple(answer.check for answer in flags), cautions=tuple(names))
    return _made_safe(walk, key, lines, names, seen, look)


def _made_safe(walk: Walk, key: str, lines: list[Styled], names: list[str], seen: Warned, look: Look) -> Stop:
    """A stop screen of the bay: what there is, then its cautions; every word and command stays."""
    told = fitting_cautions(walk, names, look, MOST_LINES - len(lines) - 1)
    return Stop(key, wording.GATE_WORD, (*lines, *told, ("faint", wording.GATE_HINT)), seen, wording.GATE_HINT)
