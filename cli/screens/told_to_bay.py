"""What the bay must know of the phone's advice: what was told or is due, why, and which danger it is about."""

from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.cli.screens.advice_now import advice_now, advice_text
from comeback.cli.screens.earlier_answers import earlier_answers
from comeback.cli.screens.spoken import sign_aloud
from comeback.cli.words.search import likely_signs
from comeback.engine.case.case import NOT_TAKEN
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience, Disposition

MOST_LOOKS = 2


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
            out.append(wording.SIGN_STANDS.format(name=item.asked, said=item.said, number=number))
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
    rows.append(("Reported", "; ".join(sign_aloud(checks[s], str(walk.view.results[s])) for s in _reported(walk))))
    unseen = [s for s in advised_signs(walk) if s not in _reported(walk) and checks[s].do][:MOST_LOOKS]
    rows += [("Look first", str(checks[sign].do)) for sign in unseen]
    return [*lines, *(line for title, text in rows for line in look.styled("say", text, 14, f"  {title}"))]
