"""What was found without being asked for: codes typed at any prompt of the bay, or `saw WORDS` for any check."""

import re
from collections.abc import Sequence
from dataclasses import replace

from comeback.cli.look import Styled
from comeback.cli.prompt.naming import danger_named
from comeback.cli.prompt.recording import commit
from comeback.cli.prompt.replies import codes_before, families_noted
from comeback.cli.prompt.screen_state import ScreenState
from comeback.cli.prompt.session import PromptSession
from comeback.cli.screens import wording
from comeback.cli.words.search import search
from comeback.engine.case.events import Kind
from comeback.engine.errors import BadReading
from comeback.engine.readout.findings.code_findings import family_result, no_family, without_family
from comeback.engine.readout.text.typed_data import code_list
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

MOST = 9
"""Checks that are listed at most."""


def codes_typed(walk: Walk, text: str, stopped: bool) -> str | None:
    """Codes where no list of codes is asked for; None for anything else.

    `stopped`: a stop screen stands before the step, so that even a list of codes is not asked for yet.
    """
    asked = isinstance(walk.step, steps.ReadPanel) and not stopped
    if asked or not in_the_bay(walk) or not re.search(r"[PCBU]\s?[0-3]?\d", text, re.IGNORECASE):
        return None
    try:
        return text if code_list(text) else None
    except BadReading:
        return None


def finding_typed(walk: Walk, text: str, _stopped: bool) -> str | None:
    """What stands behind the word `saw`; None for anything else."""
    match = re.fullmatch(r"saw(?:\s+(.*))?", text, re.IGNORECASE)
    return (match[1] or "") if match and in_the_bay(walk) else None


def in_the_bay(walk: Walk) -> bool:
    """True where something can be found without being asked for: in the bay, once the complaint is known."""
    if walk.audience is not Audience.BAY or walk.case.complaint is None:
        return False
    return not isinstance(walk.step, steps.ChooseService | steps.ChooseComplaint | steps.CloseCase | steps.Finished)


def saw(session: PromptSession, state: ScreenState, text: str) -> ScreenState:
    """List the checks that the words may mean; the one that is picked comes next, on its own screen."""
    if not text:
        session.say(wording.SAW_EMPTY)
        return state
    found = _checks(state.walk, text)
    danger = None if _is_a_place(state.walk, text, found) else danger_named(session, state, text)
    if danger is not None:
        return danger
    if not found:
        session.say(wording.SAW_NOTHING.format(text=text[:40]))
        return state
    if len(found) == 1:
        return pick(state, found[0])
    lines: list[Styled] = [("title", wording.SAW_WHICH)]
    for number, name in enumerate(found, 1):
        entry = state.walk.knowledge.checks[name]
        told = f"{entry.name} ({entry.point})" if entry.point else entry.name
        lines += [("plain", line) for line in session.look.wrap(told, 7, f"  {number:2d}   ")]
    session.show([*lines, ("faint", wording.SAW_HINT)])
    return replace(state, seen=tuple(found))


def pick(state: ScreenState, check: str) -> ScreenState:
    """The check on its own screen; afterwards the walk goes on with what comes next then."""
    entry = state.walk.knowledge.checks[check]
    despite = state.walk.view.despite(entry.runs_engine)
    return state.with_step(steps.MakeCheck(check, entry.minutes, 0.0, (), despite=despite))


def _checks(walk: Walk, text: str) -> list[str]:
    """Checks of the bay on this car that the words may mean, by name and result first, then by place."""
    here = [name for name in walk.view.network.observables if Audience.BAY in walk.knowledge.checks[name].audience]
    asked = set(_words(text))
    named = [name for kind, name in search(walk.knowledge, text) if kind == "check" and name in here]
    places = [name for name in here if asked & set(_words(_told(walk, name)))]
    places.sort(key=lambda name: -len(asked & set(_words(_told(walk, name)))))
    best = len(asked & set(_words(_told(walk, places[0])))) if places else 0
    full = [name for name in places if len(asked & set(_words(_told(walk, name)))) == best]
    return list(dict.fromkeys([*named[:4], *full, *named]))[:MOST]


def _is_a_place(walk: Walk, text: str, found: list[str]) -> bool:
    """True if all the words stand in one check that is no danger sign, as "fuel filter connector"."""
    asked = set(_words(text))
    plain = (name for name in found if not walk.knowledge.checks[name].red_flag)
    return len(asked) > 1 and any(asked <= set(_words(_told(walk, name))) for name in plain)


def _told(walk: Walk, name: str) -> str:
    entry = walk.knowledge.checks[name]
    return " ".join((entry.name, entry.point, *entry.results.values()))


def _words(text: str) -> list[str]:
    """Words that mean something, without the s of more than one."""
    return [word.rstrip("s") for word in re.findall(r"[a-z]+", text.lower()) if len(word) > 3]


def codes(session: PromptSession, state: ScreenState, text: str) -> ScreenState:
    """Record typed codes as findings of their families; the step stays as it was, or another comes next."""
    walk, typed = state.walk, code_list(text) or ()
    strange = without_family(walk.knowledge, typed)
    if strange:
        told = " ".join(no_family(walk.knowledge, code) for code in strange)
        state, recorded = commit(session, state, Kind.NOTED, {"text": told, "codes": strange})
        if recorded:
            session.say(told)
    results = _families(walk, typed)
    if not results:
        return state
    step = walk.step
    asked = step.check if isinstance(step, steps.MakeCheck) and step.again is not None else None
    again = {"again": True} if asked in results else {}
    payload = {"results": results, "readings": {}, "audience": walk.audience.value, "codes": list(typed), **again}
    state, recorded = commit(session, state, Kind.ANSWERED, payload)
    if recorded:
        session.say(families_noted(walk.knowledge, results))
    return state.shown()


def _families(walk: Walk, typed: Sequence[str]) -> dict[str, str]:
    """The result of each family that has one of the codes, with those typed before that are of it."""
    earlier, results = codes_before(walk), {}
    for check in walk.knowledge.checks.values():
        own = {code for listed in check.codes.values() for code in listed}
        hits = [code for code in typed if code in own]
        if hits:
            before = [code for code in earlier if code in own]
            results[check.id] = family_result(check, list(dict.fromkeys((*before, *hits))))
    return results
