"""Where revised words warn less than what they stand in for: a caution gone, a danger sign less urgent.

Found by comparing the entry before and after, so that no way of writing a change goes past it.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from comeback.kb.schema import Advice, Cause, Caution, Check, Complaint, NotCovered, Repair, Service, SetUp
from comeback.kb.vocabulary import Certainty, Disposition, EngineOff, Injury, Level, Sureness, Tier

Weaker = tuple[tuple[str, ...], str]
"""Keys below the entry, and what it does, as "takes the caution 'hot-lamp' away"."""
_INJURY = (Injury.NONE, Injury.MINOR, Injury.SERIOUS)
_OFF = (None, EngineOff.LOOKED, EngineOff.REPAIRED)


_TOLD = "what the caller is told"
_OTHER_WORDS: Mapping[type, tuple[tuple[tuple[str, ...], str], ...]] = {
    Caution: ((("avoid", "hazard", "consequence", "reminder"), "what a caution says"),),
    Repair: ((("never",), "what must never be done"),),
    Advice: ((("name", "say", "worse", "promise_not", "within"), _TOLD),),
    NotCovered: ((("say", "hand_to"), "what is said of a car that is not covered"),),
}
"""Fields of an entry that may be added to but not changed, and what they say."""


def weaker(before: Any, after: Any, set_ups: Mapping[str, SetUp]) -> Iterator[Weaker]:
    """Everything in which `after` warns less than `before`, two states of one entry."""
    yield from _gone(("cautions",), "caution", before, after)
    for name in _missing(getattr(before, "set_up", ()), getattr(after, "set_up", ())):
        for caution in set_ups[name].cautions if name in set_ups else ():
            if caution not in after.cautions:
                yield ("set_up",), f"takes the caution '{caution}' away with the set-up '{name}'"
    for field, said in (("runs_engine", "the engine runs"), ("drives", "the car is driven")):
        if getattr(before, field, False) and not getattr(after, field):
            yield (field,), f"no longer says that {said}"
    for fields, what in _OTHER_WORDS.get(type(before), ()):
        yield from _other_words(fields, what, before, after)
    match before:
        case Caution():
            if _INJURY.index(after.injury) < _INJURY.index(before.injury):
                yield ("injury",), f"makes {before.word.value} a milder {after.word.value}"
            elif before.outcome is Certainty.WILL and after.outcome is Certainty.COULD:
                yield ("outcome",), f"lowers the outcome from '{before.outcome.value}' to '{after.outcome.value}'"
        case Service():
            if after.only_if != before.only_if:
                yield ("only_if",), "changes the services after which the car's fuel is not asked"
            yield from _gone(("red_flags",), "danger sign", before, after)
            for step, body in before.steps.items():
                yield from _gone(("steps", step, "cautions"), "caution", body, after.steps[step])
        case Complaint():
            yield from _gone(("red_flags",), "danger sign", before, after)
        case Cause():
            yield from _cause(before, after)
        case Check():
            yield from _check(before, after)
        case Repair():
            if before.level is Level.SPECIALIST and after.level is not Level.SPECIALIST:
                yield ("level",), "lets a technician do what was left to a specialist"


def _missing(before: Sequence[str], after: Sequence[str]) -> list[str]:
    return [name for name in before if name not in after]


def _gone(keys: tuple[str, ...], what: str, before: Any, after: Any) -> Iterator[Weaker]:
    for name in _missing(getattr(before, keys[-1], ()), getattr(after, keys[-1], ())):
        yield keys, f"takes the {what} '{name}' away"


def _other_words(fields: Sequence[str], what: str, before: Any, after: Any) -> Iterator[Weaker]:
    for field in fields:
        old, new = getattr(before, field), getattr(after, field)
        added_to = isinstance(old, tuple) and not _missing(old, new)
        if old and old != new and not added_to:
            yield (field,), f"changes {what}"


def _cause(before: Cause, after: Cause) -> Iterator[Weaker]:
    if after.drive < before.drive:
        yield ("drive",), f"lowers `drive` from {before.drive.word} to {after.drive.word}"
    if before.drive >= Disposition.TOW and _missing(after.not_after, before.not_after):
        yield ("not_after",), "leaves a dangerous cause out after a service"
    if before.drive >= Disposition.TOW and after.only_if != before.only_if:
        yield ("only_if",), "changes the cars that a dangerous cause is thought of for"


def _check(before: Check, after: Check) -> Iterator[Weaker]:
    for result, move in before.red_flag.items():
        new = after.red_flag.get(result)
        if new is None or new < move:
            to = "away" if new is None else f"down to {new.word}"
            yield ("red_flag", result), f"takes the danger sign '{result}' from {move.word} {to}"
    for result, off in before.engine_off.items():
        if _OFF.index(after.engine_off.get(result)) < _OFF.index(off):
            yield ("engine_off", result), f"no longer keeps the engine off {off.value} with '{result}'"
    if before.remedy and after.remedy and before.remedy.not_if != after.remedy.not_if:
        yield ("remedy", "not_if"), "changes when a caller must not do it alone"
    if before.remedy and after.remedy and _missing(after.remedy.despite, before.remedy.despite):
        yield ("remedy", "despite"), "lets a caller do it with one more danger sign"
    for field, done in (("passed", "end the search"), ("calm", "make the advice milder")):
        if _missing(getattr(after, field), getattr(before, field)):
            yield (field,), f"lets one more result {done}"
    if before.tier is Tier.PEOPLE and after.tier is not Tier.PEOPLE:
        yield ("tier",), "lets other checks come before one about danger to people"
    if not before.red_flag:
        return
    if after.sureness is Sureness.UNMISTAKABLE is not before.sureness:
        yield ("told",), 'no longer takes "don\'t know" as the danger sign'
    for result, signs in before.follow_up.items():
        for sign in _missing(signs, after.follow_up.get(result, ())):
            yield ("follow_up", result), f"no longer asks about '{sign}' after '{result}'"
    for result, lines in before.before_driving.items():
        if _missing(lines, after.before_driving.get(result, ())):
            yield ("before_driving", result), f"changes {_TOLD} after '{result}'"
    for field in ("only_if", "needs", "services"):
        if getattr(before, field) != getattr(after, field):
            yield (field,), "changes when a danger sign is asked for"
    for audience in _missing(before.audience, after.audience):
        yield ("audience",), f"takes a danger sign from the questions of the {audience}"
    yield from _other_words(("say",), "how a danger sign is asked for", before, after)
    for result, label in before.results.items():
        if after.results[result] != label:
            yield ("results", result), "changes what a danger sign says"
