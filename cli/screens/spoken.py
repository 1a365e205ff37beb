"""The advice and its danger signs in words: to the caller, aloud, and to the bay, which must know what was said."""

import re
from collections.abc import Sequence

from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.cli.screens.advice_now import advice_now, advice_text
from comeback.cli.screens.earlier_answers import earlier_answers
from comeback.cli.screens.event_text import complaints_text, first_of
from comeback.cli.words.search import likely_signs
from comeback.engine.case.case import NOT_TAKEN
from comeback.engine.case.result_words import result_alone
from comeback.engine.walk.steps import Advise
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import Advice, Check
from comeback.kb.vocabulary import Audience, Disposition, Sense, Tier

MOST_SIGNS = 2
MOST_WORDS = 20
"""Of the customer's own words, so that a read-back stays within 75."""
ENDS, JOINS = " .,;:!?/", frozenset({"and", "but", "or", "so", "then", "because", "when", "if"})
"""What ends a clause, and the words that begin the next one."""
THE_LIGHT = re.compile(r"\bthe (light|lamp)\b", re.IGNORECASE)
"""A sentence with "the light" supposes that one was spoken of."""
MOST_LOOKS = 2


def words_to_say(walk: Walk, advice: Advice) -> list[str]:
    """The sentences of the advice, first what to do before the car moves; the light only if a lamp was spoken of.

    Of a complaint that the caller settled alone: what follows, and when to call again. Of trouble that has passed: what
    to watch for. Of a car that is not covered: first that nothing is known of it.
    """
    if Disposition.of(advice.id) is Disposition.WATCH and walk.remedy and walk.remedy.remedy:
        return [*walk.remedy.remedy.then, walk.remedy.remedy.again]
    checks, results = walk.knowledge.checks, walk.view.results
    lamp = any(checks[c].sense is Sense.LAMP and r != checks[c].expected for c, r in results.items() if c in checks)
    told, car = Disposition.of(advice.id), walk.view.not_covered
    first = walk.view.before_driving if told <= Disposition.COME_IN else ()
    if walk.view.gone and told <= Disposition.BOOK:
        what = complaints_text(walk.knowledge, walk.case.complaints, " or ").lower()
        return [*first, *wording.PASSED_SAY[told], wording.PASSED_BACK.format(what=what)]
    ahead = car.say if car and told < Disposition.GET_CLEAR else ()
    first = (*first, *ahead, *(wording.PASSED_DANGER if walk.view.gone else ()))
    return [*first, *(text for text in advice.say if lamp or not THE_LIGHT.search(text))]


def worst(check: Check) -> str:
    """The gravest of the results that are danger signs."""
    return max(check.red_flag, key=lambda result: check.red_flag[result], default=check.names[-1])


def signs_aloud(walk: Walk, flags: Sequence[str]) -> str:
    """What the caller said of the danger signs: those seen, those that nobody could tell, or that there are none.

    Empty if none were asked, or if a person set the advice higher for a reason of their own.
    """
    checks, results = walk.knowledge.checks, walk.view.results
    stated = walk.view.stated
    asked = {a.check for a in walk.case.answers if a.check in checks and checks[a.check].red_flag}
    seen = [f for f in flags if results.get(f) is not None and (f in asked or f not in stated)]
    unsure = [c for c in dict.fromkeys((*flags, *sorted(asked))) if results.get(c) is None]
    said = []
    if seen:
        named = first_of([result_alone(checks[f], str(results[f])) for f in seen], MOST_SIGNS)
        said.append(f"Danger sign{'s' * (len(seen) > 1)}: {named}.")
    if unsure:
        every = len(unsure) > MOST_SIGNS and asked <= {*unsure}
        named = first_of([result_alone(checks[f], worst(checks[f])) for f in unsure], MOST_SIGNS)
        what = "about any danger sign" if every else named
        said.append(f"You could not tell{'' if every else ':'} {what}.")
    usual = {c: {None, checks[c].expected, *checks[c].harmless} for c in asked}
    odd = sorted(c for c in asked if results.get(c) not in usual[c] and c not in (*flags, *stated))
    if odd:  # noticed, but no danger by itself, as an engine that stops while standing
        said.append(f"You say: {first_of([result_alone(checks[c], str(results[c])) for c in odd], MOST_SIGNS)}.")
    raised = any(Disposition.of(o.to) >= Disposition.of(o.ruled) for o in walk.case.overrides)
    if not said and asked and not raised:
        # a caller who says that it will not start names no danger
        other = "other " if any(f in flags and checks[f].tier <= Tier.CAR for f in stated) else ""
        said.append(f"You see no {other}danger signs.")
    return " ".join(said)


def when(advice: Advice) -> str:
    """How soon; empty if the advice's name says it."""
    return "" if advice.within.lower() in advice.name.lower() else advice.within


def sentence(said: str) -> str:
    """Somebody's own words as one sentence with a single period, cut between two clauses where they are long."""
    words = said.split()
    if len(words) <= MOST_WORDS:
        return f"{said.rstrip(ENDS)}."
    ends = [n for n in range(MOST_WORDS // 2, MOST_WORDS + 1) if words[n - 1][-1] in ENDS or words[n] in JOINS]
    if ends:
        return f"{' '.join(words[: ends[-1]]).rstrip(ENDS)}."
    return f"{' '.join(words[:MOST_WORDS])} ..."


def confirm_back(walk: Walk, step: Advise) -> str:
    """Complaint, last service, danger signs and advice in one paragraph of at most 75 words.

    A caller who must get away from the car hears the advice and nothing else.
    """
    case, knowledge = walk.case, walk.knowledge
    told = walk.effective_advice(step.disposition)
    advice = knowledge.dispositions[told]
    if told is Disposition.GET_CLEAR:
        return f"My advice: {advice.name}. Is that right?"
    service = " and ".join(knowledge.services[done].plain for done in case.services) or "service"
    said = case.words or complaints_text(knowledge, case.complaints, " and ") or "there is danger"
    said = sentence(said)
    signs = f"{'It has stopped. ' if walk.view.gone else ''}{signs_aloud(walk, step.flags)}"
    within = f" {when(advice)}." if when(advice) else ""
    remedy = walk.remedy.remedy if walk.remedy and told is Disposition.WATCH else None
    mine = f"That should settle it. {remedy.again}" if remedy else f"My advice: {advice.name}.{within}"
    parts = (f"You say: {said} It began after the {service}.", signs, mine)
    return " ".join(part for part in (*parts, "Is that right?") if part)


def stands_out(walk: Walk) -> bool:
    """True if the bay must read it before anything else: danger reported, set by a person, not told, or refused."""
    if walk.case.repairs or walk.case.closed is not None:
        return False
    now = advice_now(walk.knowledge, walk.events)
    if now.level is None:
        return False
    refused = now.told is not None and now.told.how == NOT_TAKEN
    danger = bool(_reported(walk) or walk.case.overrides)
    untold = now.due is not None and (danger or now.told is not None)
    return refused or untold or (danger and now.level >= Disposition.TOW)


def _reported(walk: Walk) -> list[str]:
    """Danger signs that the caller reported."""
    checks = walk.knowledge.checks
    latest = {a.check: a for a in walk.case.answers if a.audience is Audience.PHONE and a.check in checks}
    return [c for c, a in latest.items() if a.result in checks[c].red_flag]


def signs_in(walk: Walk, text: str) -> list[str]:
    """Danger signs that a person's own words name, `caller now sees smoke`; the complaint's own before the others."""
    mine = walk.view.signs
    return sorted(likely_signs(walk.knowledge, text), key=lambda sign: sign not in mine)


def standing_signs(walk: Walk, text: str) -> list[str]:
    """What to say of danger signs that `text` names although the answer to them was, and still is, another one."""
    signs, checks, out = signs_in(walk, text), walk.knowledge.checks, []
    for number, item in enumerate(earlier_answers(walk), 1):
        if item.check in signs and item.result == checks[str(item.check)].expected:
            out.append(f"'{item.asked}: {item.said}' is still answer {number}. If that changed: edit {number}")
    return out


def advised_signs(walk: Walk) -> list[str]:
    """The danger signs behind the advice: those reported, those that a person's reason names.

    A reason that names none stands for every sign of the complaint that asks for as much.
    """
    signs = _reported(walk)
    checks = walk.knowledge.checks
    for override in walk.case.overrides:
        if Disposition.of(override.to) < max(Disposition.TOW, Disposition.of(override.ruled)):
            continue
        named = signs_in(walk, override.reason)
        if not named and walk.view.complaints:
            least = Disposition.of(override.to)
            graves = {s: max(checks[s].red_flag.values(), default=Disposition.WATCH) for s in walk.view.signs}
            named = [sign for sign, grave in graves.items() if grave >= least]
        signs += named
    return list(dict.fromkeys(signs))


def advice_lines(walk: Walk, look: Look) -> list[Styled]:
    """The advice with its times, the reasons, what the caller reported, and what to look at first."""
    now, case, checks = advice_now(walk.knowledge, walk.events), walk.case, walk.knowledge.checks
    assert now.level is not None
    start = "The advice was"
    if now.due is not None and now.heard is None:
        start = "The caller has not been told yet"
    elif now.told and now.told.how == NOT_TAKEN and now.due is None:
        start = "Refused by the caller"
    name, lead = walk.knowledge.dispositions[now.level].name, f"{look.alert} WARNING  "
    lines = look.styled("caution", f"{start}: {name}. Make it safe before anything else.", len(lead), lead)
    rows = [("Told", advice_text(now, case.opened_at))]
    if now.told is not None and now.told.words:
        rows.append(("Refused", f"{now.told.words} ({now.told.by})"))
    rows += [("Reason", f"{o.reason} ({o.by}, {o.at[11:16]}{f', with {o.second}' if o.second else ''})")
             for o in case.overrides[-2:]]  # fmt: skip
    rows.append(("Reported", "; ".join(result_alone(checks[s], str(walk.view.results[s])) for s in _reported(walk))))
    unseen = [s for s in advised_signs(walk) if s not in _reported(walk) and checks[s].do][:MOST_LOOKS]
    rows += [("Look first", str(checks[sign].do)) for sign in unseen]
    return [*lines, *(line for title, text in rows for line in look.styled("say", text, 14, f"  {title}"))]
