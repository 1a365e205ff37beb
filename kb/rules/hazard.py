"""Rules for danger: work that can hurt carries its caution, and danger signs are asked first.

A hazard is found by the words of a step. The lists are short on purpose: each phrase names work that
is dangerous in any workshop, so that what is reported is worth reading.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from comeback.kb.rules.bearing import flags_left_out
from comeback.kb.rules.words import Broken, steps_of
from comeback.kb.schema import Check, KnowledgeBase, Procedure, Repair
from comeback.kb.vocabulary import Audience, Disposition, Injury, Tier
from comeback.kb.yaml.reader import Path

MOST_RED_FLAGS = 6
"""Danger signs of one complaint: more do not fit one screen; judged."""
OFTEN = 0.05
"""A danger sign seen in one such car of twenty belongs on the list."""


@dataclass(frozen=True)
class HazardWords:
    """`words` in a step mean it; a caution answers it if its text has `answer` and it is about people."""

    name: str
    words: re.Pattern[str]
    answer: re.Pattern[str]


def _hazard(name: str, words: str, answer: str) -> HazardWords:
    return HazardWords(name, re.compile(rf"\b(?:{words})", re.I), re.compile(answer, re.I))


HAZARDS = (
    _hazard(
        "an open fuel line",
        r"release the fuel pressure|lift the rail|catch the (?:liquid )?fuel|drain the tank"
        r"|(?:change|replace|take|open|undo|cut) (?:the |a |off |damaged )*fuel (?:line|filter|hose|pump|rail)",
        r"fuel|gasoline",
    ),
    _hazard(
        "a lifted car",
        r"on the (?:hoist|lift)\b|raise the (?:car|front|rear)|jack (?:it |the car )?up|support the engine",
        r"\bhoist|\bon a lift\b|\bjack\b",
    ),
    _hazard(
        "a battery taken off",
        r"(?:take|put)[^.;]{0,16} negative|negative (?:off|clamp)|disconnect[^.;]{0,8} battery",
        r"batter(?:y|ies)",
    ),
    _hazard(
        "hot coolant under pressure",
        r"(?:open|take off|turn off|remove) the (?:coolant|radiator|pressure) cap|drain the (?:coolant|radiator)"
        r"|fill and bleed|clamp the coolant hoses|take [^.;]{0,8}heater hoses off",
        r"hot coolant|scald",
    ),
    _hazard(
        "exhaust gas in the workshop",
        r"idle \d+ min|run (?:it |the engine )?\d+ min|hold \d+ rpm for|blip|warm the engine|with extraction",
        r"carbon monoxide|exhaust extraction|exhaust gas",
    ),
    _hazard(
        "a part that may be hot",
        r"exhaust (?:manifold|pipe|joint|gasket|clamp)|turbocharger|catalytic converter|heat shield"
        r"|(?:coolant|heater) (?:pipe|hose)|radiator",
        r"\bhot\b|\bcool\b|burn|scald",
    ),
    _hazard("flying dirt", r"blow (?:the|it|them|out|each)\b[^.;]* clean|blow out\b", r"\beyes?\b|eye protection"),
    _hazard("solvent mist", r"spray [^.;]{0,30}cleaner", r"flammable|burnt eyes"),
)
RUNNING = re.compile(
    r"\b(?:idl(?:e|es|ing)\b|blips?\b|crank(?:s|ing)?\b|revs?\b|rev (?:the|it|up)\b|start switch"
    r"|\d+ rpm|spin the engine|measure (?:the )?(?:compression|oil pressure)"
    r"|run (?:it \d|the engine|\d|at \d)|(?:engine|once it|if it) run(?:s|ning)|running engine|warm run"
    r"|road (?:trip|test)|engine on\b|engine hot\b|running temperature|engine warms?\b"
    r"|warm (?:the |(?:gearbox|transmission) and )?engine"
    r"|starts? the engine|after (?:the|a) start|(?<!to )starts?(?= again|(?: only)?(?: with| if| and)\b|[:;,.]|$)"
    r"|drive\b|pull away|walking speed)",
    re.I,
)
"""Words of a check or repair that plainly run the engine: what is forbidden in the same clause is cut out before."""
_FORBIDDEN = re.compile(r"\b(?:do not|never|without|engine off(?! after)|engine not)\b[^.;]*|\bbefore starting\b", re.I)


def hazard_without_caution(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Work that takes the car apart, or repairs what makes it dangerous, names a caution."""
    for repair in knowledge.repairs.values():
        worst = max((knowledge.causes[c].drive for c in repair.removes), default=Disposition.WATCH)
        if not repair.cautions and (worst is Disposition.GET_CLEAR or repair.tier is Tier.STRIP):
            yield ("repairs", repair.id), f"'{repair.id}' can hurt and names no caution. Add `cautions:`."


def step_without_its_caution(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A step that opens fuel, lifts the car and the like stands behind a caution about just that."""
    for path, text in steps_of(knowledge):
        cautions = list(_cautions(knowledge, path))
        for hazard in HAZARDS:
            found = hazard.words.search(text)
            if found and not _answered(knowledge, hazard, cautions):
                yield path, f"'{found[0]}' means {hazard.name}, and no caution speaks of it. Add one to `cautions:`."


def _cautions(knowledge: KnowledgeBase, path: Path) -> Iterable[str]:
    """Cautions shown before the step: its own, and those of the set-ups that come first."""
    section, name = str(path[0]), str(path[1])
    if section == "services":
        return knowledge.services[name].steps[str(path[3])].cautions
    entry = getattr(knowledge, section)[name]
    set_ups = [knowledge.set_ups[s] for s in getattr(entry, "set_up", ())]
    return (*entry.cautions, *(caution for set_up in set_ups for caution in set_up.cautions))


def _answered(knowledge: KnowledgeBase, hazard: HazardWords, cautions: Iterable[str]) -> bool:
    about_people = (knowledge.cautions[name] for name in cautions)
    return any(
        hazard.answer.search(f"{caution.avoid} {caution.hazard} {caution.consequence}")
        for caution in about_people
        if caution.injury is not Injury.NONE
    )


def red_flag_out_of_order(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A red flag is asked on the phone, among the first, and its expected result raises none."""
    for check in knowledge.checks.values():
        if check.red_flag and Audience.PHONE not in check.audience:
            message = "A red flag must be one a caller can answer. Add phone to `audience:`."
            yield ("checks", check.id), message
        if check.expected in check.red_flag:
            message = "The first result means nothing is wrong; it can be no red flag."
            yield ("checks", check.id, "red_flag"), message
    for complaint in knowledge.complaints.values():
        if len({*complaint.red_flags, *knowledge.follow_ups(complaint.reports)}) > MOST_RED_FLAGS:
            message = f"More than {MOST_RED_FLAGS} red flags do not fit one screen. Drop some."
            yield ("complaints", complaint.id, "red_flags"), message
        for i, flag in enumerate(complaint.red_flags):
            if not knowledge.checks[flag].red_flag:
                yield ("complaints", complaint.id, "red_flags", i), f"'{flag}' has no `red_flag:`."


def red_flag_left_out(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A danger sign that one such car of twenty shows is asked first, as long as the screen has room for it."""
    for complaint in knowledge.complaints.values():
        room = MOST_RED_FLAGS - len(complaint.red_flags)
        for flag, share in flags_left_out(knowledge, complaint)[:room]:
            if share >= OFTEN:
                message = f"'{flag}' is seen in about {100 * share:.0f} of 100 such cars and is not asked. Add it."
                yield ("complaints", complaint.id, "red_flags"), message


def engine_run_unmarked(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A check, repair or procedure in the bay that runs, cranks or drives says so: a danger sign can forbid it.

    For a check its words and its condition count, for a repair its own steps (what follows them stands in its
    procedures); a warm engine as set-up counts for both. What only says "engine off" needs no mark.
    """
    checks = [("checks", c) for c in knowledge.checks.values() if Audience.BAY in c.audience]
    repairs = [("repairs", r) for r in knowledge.repairs.values()]
    procedures = [("procedures", p) for p in knowledge.procedures.values()]
    entries: list[tuple[str, Check | Repair | Procedure]] = [*checks, *repairs, *procedures]
    for section, entry in entries:
        found = None if entry.runs_engine else _running(entry)
        if found:
            message = f"'{found}' runs, cranks or drives it. Add `runs_engine: true`, or write what is done engine off."
            yield (section, entry.id), message


def _running(entry: Check | Repair | Procedure) -> str | None:
    """The first words of the entry that run the engine."""
    if not isinstance(entry, Procedure) and "engine-warm" in entry.set_up:
        return "engine-warm"
    for text in _bay_words(entry):
        found = RUNNING.search(_FORBIDDEN.sub("", text))
        if found:
            return found[0]
    return None


def _bay_words(entry: Check | Repair | Procedure) -> Iterable[str]:
    if isinstance(entry, Check):
        return (entry.do or "", entry.condition, *entry.put_back)
    return (*entry.steps, *entry.put_back) if isinstance(entry, Repair) else entry.steps


def engine_off_without_danger_sign(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """The engine stays off only with an abnormal result of a check that is a danger sign."""
    for check in knowledge.checks.values():
        for result in check.engine_off:
            path = ("checks", check.id, "engine_off", result)
            if not check.red_flag:
                yield path, f"'{check.id}' is no danger sign. Add `red_flag:`, or drop `engine_off:`."
            elif result not in check.names[1:]:
                wanted = ", ".join(check.names[1:])
                yield path, f"'{result}' is no abnormal result of '{check.id}'. Use one of: {wanted}."
