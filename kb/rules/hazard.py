"""Rules for danger: work that can hurt carries its caution, and danger signs are asked first.

A hazard is found by the words of a step. The lists are short on purpose: each phrase names work that is dangerous in
any shop, so that every report is worth reading.
"""

import re
from collections.abc import Iterator

from comeback.kb.rules.bearing import flags_left_out, steps_of
from comeback.kb.rules.words import Broken
from comeback.kb.schema import Check, KnowledgeBase, Procedure, Repair
from comeback.kb.vocabulary import Audience, Disposition, Injury, Tier
from comeback.kb.yaml.reader import Path

MOST_RED_FLAGS = 6
"""Danger signs of one complaint: more do not fit one screen; judged."""
OFTEN = 0.05
"""A danger sign that this share of such cars shows belongs on the list."""
HAZARDS = (
    (
        "an open fuel line",
        r"release the fuel pressure|lift the rail|catch the (?:liquid )?fuel|drain the tank"
        r"|(?:change|replace|take|open|undo|cut) (?:the |a |off |damaged )*fuel (?:line|filter|hose|pump|rail)",
        r"fuel|gasoline",
    ),
    (
        "a lifted car",
        r"on the (?:hoist|lift)\b|raise the (?:car|front|rear)|jack (?:it |the car )?up|support the engine",
        r"\bhoist|\bon a lift\b|\bjack\b",
    ),
    (
        "a battery taken off",
        r"(?:take|put)[^.;]{0,16} negative|negative (?:off|clamp)|disconnect[^.;]{0,8} battery",
        r"batter(?:y|ies)",
    ),
    (
        "hot coolant under pressure",
        r"(?:open|take off|turn off|remove) the (?:coolant|radiator|pressure) cap|drain the (?:coolant|radiator)"
        r"|fill and bleed|clamp the coolant hoses|take [^.;]{0,8}heater hoses off",
        r"hot coolant|scald",
    ),
    (
        "exhaust gas in the shop",
        r"idle \d+ min|run (?:it |the engine )?\d+ min|hold \d+ rpm for|blip|warm the engine|with extraction",
        r"carbon monoxide|exhaust extraction|exhaust gas",
    ),
    (
        "a part that may be hot",
        r"exhaust (?:manifold|pipe|joint|gasket|clamp)|turbocharger|catalytic converter|heat shield"
        r"|(?:coolant|heater) (?:pipe|hose)|radiator",
        r"\bhot\b|\bcool\b|burn|scald",
    ),
    ("flying dirt", r"blow (?:the|it|them|out|each)\b[^.;]* clean|blow out\b", r"\beyes?\b|eye protection"),
    ("solvent mist", r"spray [^.;]{0,30}cleaner", r"flammable|burnt eyes"),
)
"""Hazard, words of a step that mean it, words of a caution about people that answer it."""
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
"""Words of a check or repair that plainly run the engine; clauses that forbid it are cut out first."""
_FORBIDDEN = re.compile(r"\b(?:do not|never|without|engine off(?! after)|engine not)\b[^.;]*|\bbefore starting\b", re.I)


def hazard_without_caution(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Work that takes the car apart, or repairs what makes it dangerous, names a caution."""
    for repair in knowledge.repairs.values():
        worst = max((knowledge.causes[c].drive for c in repair.removes), default=Disposition.WATCH)
        if not repair.cautions and (worst is Disposition.GET_CLEAR or repair.tier is Tier.STRIP):
            yield ("repairs", repair.id), f"'{repair.id}' can hurt and names no caution. Add `cautions:`."


def step_without_its_caution(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A step that opens fuel, lifts the car and the like comes after a caution about just that."""
    for path, text in steps_of(knowledge):
        for hazard, words, answer in HAZARDS:
            found = re.search(rf"\b(?:{words})", text, re.I)
            if found and not re.search(answer, _told_before(knowledge, path), re.I):
                yield path, f"'{found[0]}' means {hazard}, and no caution speaks of it. Add one to `cautions:`."


def _told_before(knowledge: KnowledgeBase, path: Path) -> str:
    """What the cautions of the step, and those of the set-ups that come first, say about people."""
    section, name = str(path[0]), str(path[1])
    entry = getattr(knowledge, section)[name]
    if section == "services":
        entry = entry.steps[str(path[3])]
    set_ups = [knowledge.set_ups[set_up] for set_up in getattr(entry, "set_up", ())]
    cautions = [knowledge.cautions[caution] for one in (entry, *set_ups) for caution in one.cautions]
    about_people = [one for one in cautions if one.injury is not Injury.NONE]
    return "\n".join(one.text for one in about_people)


def red_flag_out_of_order(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A red flag is asked on the phone, unless only a service brings it about, and its first result raises none."""
    for check in knowledge.checks.values():
        if check.red_flag and Audience.PHONE not in check.audience and not check.services:
            yield ("checks", check.id), "A red flag must be one a caller can answer. Add phone to `audience:`."
        if check.expected in check.red_flag:
            message = "The first result means nothing is wrong; it cannot be a red flag. Drop it."
            yield ("checks", check.id, "red_flag"), message
    for complaint in knowledge.complaints.values():
        if len({*complaint.red_flags, *knowledge.follow_ups(complaint.reports)}) > MOST_RED_FLAGS:
            message = f"More than {MOST_RED_FLAGS} red flags do not fit one screen. Drop some."
            yield ("complaints", complaint.id, "red_flags"), message
    for section in ("services", "complaints"):
        for entry in getattr(knowledge, section).values():
            for i, flag in enumerate(entry.red_flags):
                if not knowledge.checks[flag].red_flag:
                    yield (section, entry.id, "red_flags", i), f"'{flag}' has no `red_flag:`. Add it."


def red_flag_left_out(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A danger sign that one in twenty such cars shows is asked first, if the screen has room for it."""
    for complaint in knowledge.complaints.values():
        room = MOST_RED_FLAGS - len(complaint.red_flags)
        for flag, share in flags_left_out(knowledge, complaint)[:room]:
            if share >= OFTEN:
                message = f"'{flag}' is seen in about {100 * share:.0f} of 100 such cars and is not asked. Add it."
                yield ("complaints", complaint.id, "red_flags"), message


def engine_run_unmarked(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A check, repair or procedure in the bay that runs, cranks or drives says so: a danger sign can forbid it.

    For a check its words and its condition count, for a repair its own steps (its procedures have marks of their
    own); a warm engine as set-up counts for both. What only says "engine off" needs no mark.
    """
    for section in ("checks", "repairs", "procedures"):
        for entry in getattr(knowledge, section).values():
            found = "" if entry.runs_engine else _running(entry)
            if found:
                message = f"'{found}' runs, cranks or drives it. Add `runs_engine: true`, or write it for engine off."
                yield (section, entry.id), message


def _running(entry: Check | Repair | Procedure) -> str:
    """The first words of the entry that run the engine; empty if none do."""
    texts = (entry.do or "", entry.condition) if isinstance(entry, Check) else entry.steps
    if isinstance(entry, Check) and Audience.BAY not in entry.audience:
        return ""
    if "engine-warm" in getattr(entry, "set_up", ()):
        return "engine-warm"
    found = (RUNNING.search(_FORBIDDEN.sub("", text)) for text in (*texts, *getattr(entry, "put_back", ())))
    return next((words[0] for words in found if words), "")


def engine_off_without_danger_sign(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """The engine stays off only with an abnormal result of a check that is a danger sign."""
    for check in knowledge.checks.values():
        for result in check.engine_off:
            path = ("checks", check.id, "engine_off", result)
            if not check.red_flag:
                yield path, f"'{check.id}' is not a danger sign. Add `red_flag:`, or drop `engine_off:`."
            elif result not in check.names[1:]:
                wanted = ", ".join(check.names[1:])
                yield path, f"'{result}' is not an abnormal result of '{check.id}'. Use one of: {wanted}."
