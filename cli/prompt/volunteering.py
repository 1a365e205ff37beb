"""What was said or found without being asked for: dangers, complaints in one's own words, codes, `saw WORDS`."""

import re
from contextlib import suppress
from dataclasses import replace

from comeback.cli.prompt.recording import commit, look_at
from comeback.cli.prompt.replies import codes_before, families_noted
from comeback.cli.prompt.reply import Command, Remark
from comeback.cli.prompt.session import PromptSession, ScreenState
from comeback.cli.prompt.side_questions import side_question
from comeback.cli.screens import screens, wording
from comeback.cli.words.passed import parts_said, says_passed
from comeback.cli.words.search import named_signs, open_complaint, search
from comeback.cli.words.sentence import find_parts
from comeback.engine.case.case import joined_words
from comeback.engine.case.facts import Answered, Noted
from comeback.engine.errors import BadReading
from comeback.engine.readout.findings.code_findings import family_results, listed_codes, no_family, without_family
from comeback.engine.readout.text.typed_data import code_list
from comeback.engine.walk import steps
from comeback.engine.walk.opening import fitting_complaints
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

MOST = 9
"""Complaints or checks that are listed at most."""


def match_words(session: PromptSession, state: ScreenState, text: str) -> ScreenState:
    """List the complaints that the customer's words may mean, with the first of each of its parts ahead."""
    walk, knowledge = state.walk, state.walk.knowledge
    if says_passed(text) and not parts_said(text):
        session.say("Noted: it has stopped. What did it do? Type that, or its number.")
        return replace(state, words=joined_words(state.words, text))
    if not isinstance(walk.step, steps.ChooseComplaint):  # one more, or a danger named before the service is known
        named = walk.case.complaints
        may_be = tuple(name for name in fitting_complaints(knowledge, walk.case) if name not in named)
        walk = walk.with_step(steps.ChooseComplaint(may_be))
    assert isinstance(walk.step, steps.ChooseComplaint)
    found = find_parts(knowledge, parts_said(text), walk.step.complaints)
    other = open_complaint(knowledge, walk.step.complaints)
    ranked = found.near if found.near or other else found.complaints
    last = [other] if other else []
    listed = (*[name for name in ranked if name != other][: MOST - len(last)], *last)
    question = [] if found.near else [f"Nothing here matches '{text[:40]}'. Type other words, or pick this:"]
    session.show(screens.matches(walk, listed, session.look, *question))
    session.show([("faint", "numbers (1 or 1 3), other words   1 gone it has stopped   n none   b back")])
    return replace(state, walk=walk, words=joined_words(state.words, text), found=listed)


def match_rest(session: PromptSession, state: ScreenState, rest: str) -> ScreenState:
    """The complaints that fit what was said beside the service, once it is recorded, instead of the open question."""
    due = rest and isinstance(state.walk.step, steps.ChooseComplaint) and side_question(session, state) is None
    return match_words(session, replace(state, due=False), rest) if due else state


def also(session: PromptSession, state: ScreenState, text: str) -> ScreenState | str:
    """One more complaint, beside those that were named."""
    if state.walk.case.closed is not None or state.walk.case.handed_over is not None:
        return wording.AGAIN_CLOSED
    return match_words(session, replace(state, editing=None), text)


def danger_named(session: PromptSession, state: ScreenState, text: str) -> ScreenState | None:
    """Words of danger instead of an answer: ask about that danger before anything else. None if they name none."""
    walk, knowledge = state.walk, state.walk.knowledge
    signs = named_signs(knowledge, text)
    if not signs or isinstance(walk.step, steps.Finished):
        return None
    if walk.case.complaint is None:
        return match_words(session, state, text)
    here = walk.step.checks if isinstance(walk.step, steps.DangerScreen) else ()
    if signs[0] in here:
        session.say(wording.DANGER_HERE.format(number=here.index(signs[0]) + 1))
        return state
    new = (sign for sign in signs if sign not in walk.view.raised)  # what stands is not asked away
    asked = tuple(sign for sign in new if walk.audience in knowledge.checks[sign].audience)
    return state.with_step(steps.DangerScreen(asked[:6])) if asked else None


def volunteered(walk: Walk, text: str, stopped: bool) -> Command | Remark | None:
    """Once the complaint is known: that it has passed; in the bay `saw WORDS`, or codes where no list is asked for.

    `stopped`: a stop screen stands before the step, so that even a list of codes is not asked for yet.
    """
    elsewhere = steps.ChooseService | steps.ChooseComplaint | steps.CloseCase | steps.Finished
    if walk.case.complaint is None or isinstance(walk.step, elsewhere):
        return None
    if not walk.case.repairs and says_passed(text) and not parts_said(text):
        return Command("gone") if says_passed(text, walk.view.lit) else Remark(wording.LIGHT_OUT)
    if walk.audience is not Audience.BAY:
        return None
    saw_it = re.fullmatch(r"saw(?:\s+(.*))?", text, re.IGNORECASE)
    if saw_it:
        return Command("saw", saw_it[1] or "")
    asked = isinstance(walk.step, steps.ReadPanel) and not stopped
    with suppress(BadReading):
        if not asked and re.search(r"[PCBU]\s?[0-3]?\d", text, re.IGNORECASE) and code_list(text):
            return Command("codes", text)
    return None


def saw(session: PromptSession, state: ScreenState, text: str) -> ScreenState | str:
    """List the checks that the words may mean; the one that is picked comes next, on its own screen."""
    walk, checks, asked = state.walk, state.walk.knowledge.checks, _words(text)
    found = _checks(walk, text)
    if found == [text]:  # its id
        return pick(state, text)
    plain = [name for name in found if not checks[name].red_flag]
    place = len(asked) > 1 and any(asked <= _words_of(walk, name) for name in plain)  # as "fuel filter connector"
    danger = None if place else danger_named(session, state, text)
    if danger is not None:
        return danger
    if not found:
        return f"No check here matches '{text[:40]}'. Type other words, or write it down: note {text[:40]}"
    if len(found) == 1:
        return pick(state, found[0])
    told = (f"{checks[n].name} ({checks[n].point})" if checks[n].point else checks[n].name for n in found)
    session.show([("title", wording.SAW_WHICH), *session.look.numbered(told), ("faint", wording.SAW_HINT)])
    return replace(state, seen=tuple(found))


def pick(state: ScreenState, check: str) -> ScreenState:
    """The check on its own screen; afterwards the walk goes on with what comes next then."""
    return state.with_step(look_at(state.walk, check))


def _checks(walk: Walk, text: str) -> list[str]:
    """Checks of the bay on this car that the words may mean, by name and result first, then by place."""
    here = [name for name in walk.view.network.observables if Audience.BAY in walk.knowledge.checks[name].audience]
    if text in here:
        return [text]
    named = [name for kind, name in search(walk.knowledge, text) if kind == "check" and name in here]
    hits = {name: len(_words(text) & _words_of(walk, name)) for name in here}
    most = max(hits.values(), default=0)
    full = [name for name in here if most and hits[name] == most]
    return list(dict.fromkeys([*named[:4], *full, *named]))[:MOST]


def _words_of(walk: Walk, name: str) -> set[str]:
    """Words of a check's name, place and results."""
    entry = walk.knowledge.checks[name]
    return _words(" ".join((entry.name, entry.point, *entry.results.values())))


def _words(text: str) -> set[str]:
    """Words that mean something, without the s of more than one."""
    return {word.rstrip("s") for word in re.findall(r"[a-z]+", text.lower()) if len(word) > 3}


def codes(session: PromptSession, state: ScreenState, text: str) -> ScreenState:
    """Record typed codes as findings of their families; the step stays as it was, or another comes next."""
    walk, typed = state.walk, code_list(text) or ()
    strange = without_family(walk.knowledge, typed)
    if strange:
        told = " ".join(no_family(walk.knowledge, code) for code in strange)
        state, _ = commit(session, state, Noted(told, tuple(strange)), told)
    checks, known = walk.knowledge.checks, tuple(dict.fromkeys((*codes_before(walk), *typed)))
    found = family_results(walk.knowledge, known).items()
    results = {check: result for check, result in found if listed_codes(checks[check]) & {*typed}}
    if not results:
        return state
    asked = walk.step.check if isinstance(walk.step, steps.MakeCheck) and walk.step.again is not None else None
    answer = Answered(results, audience=walk.audience, again=asked in results, codes=typed)
    return commit(session, state, answer, families_noted(walk.knowledge, results))[0].shown()
