"""What was found without being asked for: codes typed at any prompt of the bay, or `saw WORDS` for any check."""

import re
from typing import TYPE_CHECKING

from comeback.cli.look import Styled
from comeback.cli.prompt.naming import danger_named
from comeback.cli.prompt.replies import Command, codes_before, families_noted
from comeback.cli.screens import wording
from comeback.cli.words.numbers import number_in
from comeback.cli.words.search import search
from comeback.engine.case.events import Kind
from comeback.engine.errors import BadReading
from comeback.engine.readout.findings.code_findings import family_result, no_family, without_family
from comeback.engine.readout.text.typed_data import code_list
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

if TYPE_CHECKING:
    from comeback.cli.prompt.conversation import Conversation

MOST = 9
"""Checks that are listed at most."""


def volunteered(walk: Walk, typed: str, stopped: bool = False) -> Command | None:
    """`saw WORDS`, or codes where no list of codes is asked for; None for anything else, and on the phone.

    `stopped`: a stop screen stands before the step, so that even a list of codes is not asked for yet.
    """
    step, text = walk.step, " ".join(typed.split())
    if walk.audience is not Audience.BAY or walk.case.complaint is None:
        return None
    if isinstance(step, steps.ChooseService | steps.ChooseComplaint | steps.CloseCase | steps.Finished):
        return None
    match = re.fullmatch(r"saw(?:\s+(.*))?", text, re.IGNORECASE)
    if match:
        return Command("saw", match[1] or "")
    if (isinstance(step, steps.ReadPanel) and not stopped) or not re.search(r"[PCBU]\s?[0-3]?\d", text, re.IGNORECASE):
        return None
    try:
        return Command("codes", text) if code_list(text) else None
    except BadReading:
        return None


def saw(talk: "Conversation", text: str) -> None:
    """List the checks that the words may mean; the one that is picked comes next, on its own screen."""
    if not text:
        talk.say(wording.SAW_EMPTY)
        return
    found = _checks(talk.walk, text)
    if not _is_a_place(talk.walk, text, found) and danger_named(talk, text):
        return
    if not found:
        talk.say(wording.SAW_NOTHING.format(text=text[:40]))
        return
    if len(found) == 1:
        pick(talk, found[0])
        return
    lines: list[Styled] = [("title", wording.SAW_WHICH)]
    for number, name in enumerate(found, 1):
        entry = talk.walk.knowledge.checks[name]
        told = f"{entry.name} ({entry.point})" if entry.point else entry.name
        lines += [("plain", line) for line in talk.look.wrap(told, 7, f"  {number:2d}   ")]
    talk.seen = found
    talk.show([*lines, ("faint", wording.SAW_HINT)])


def pick(talk: "Conversation", check: str) -> None:
    """The check on its own screen; afterwards the walk goes on with what comes next then."""
    entry = talk.walk.knowledge.checks[check]
    despite = talk.walk.situation.despite(entry.runs_engine)
    talk.go_to(steps.MakeCheck(check, entry.minutes, 0.0, (), despite=despite), None)


def picked(talk: "Conversation", text: str) -> bool:
    """A number out of the checks that were listed; anything else leaves that list. True if it was one."""
    listed, talk.seen = talk.seen, []
    number = number_in(text, len(listed))
    if number is None:
        return False
    pick(talk, listed[number - 1])
    return True


def _checks(walk: Walk, text: str) -> list[str]:
    """Checks of the bay on this car that the words may mean, by name and result first, then by place."""
    here = [name for name in walk.situation.network.observables if Audience.BAY in walk.knowledge.checks[name].audience]
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


def codes(talk: "Conversation", text: str) -> None:
    """Record typed codes as findings of their families; the step stays as it was, or another comes next."""
    walk = talk.walk
    typed = code_list(text) or ()
    step = walk.step
    asked = step.check if isinstance(step, steps.MakeCheck) and step.again is not None else None
    earlier = codes_before(walk)
    results: dict[str, str] = {}
    for check in walk.knowledge.checks.values():
        hits = [code for code in typed if any(code in listed for listed in check.codes.values())]
        if hits:
            before = [code for code in earlier if any(code in listed for listed in check.codes.values())]
            results[check.id] = family_result(check, list(dict.fromkeys((*before, *hits))))
    strange = " ".join(no_family(walk.knowledge, code) for code in without_family(walk.knowledge, typed))
    if strange:
        talk.commit(Kind.NOTED, {"text": strange, "codes": without_family(walk.knowledge, typed)})
        talk.say(strange)
    if not results:
        return
    again = {"again": True} if asked in results else {}
    payload = {"results": results, "readings": {}, "audience": walk.audience.value, "codes": list(typed), **again}
    talk.commit(Kind.ANSWERED, payload)
    talk.say(families_noted(walk.knowledge, results))
    talk.show_screen()
