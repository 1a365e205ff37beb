"""What a walk came to: every cause and check in one of a few groups, and the screens that say so."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.cli.screens.closing_cause import cause_text
from comeback.cli.screens.event_text import plate_text
from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.exact_posterior import posterior
from comeback.engine.errors import EngineError
from comeback.engine.walk.policy import NOT_SEEN
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience, Disposition

REFUSED_NEXT = (
    "no tow truck: it was refused. Tell the foreman now; call the customer back within 1 hour; "
    "never say that a short trip will be fine"
)
LIKELY, POSSIBLE, UNLIKE = 0.10, 0.01, 0.5
"""Chances from which a cause counts as likely, as still possible; below it is ruled out, if it was in question.

A look that the cause would turn out so with less than the chance UNLIKE speaks against it.
"""


@dataclass(frozen=True)
class Standing:
    """All causes and all checks of the knowledge, each in exactly one group; causes with their chance now."""

    likely: Mapping[str, float]
    possible: Mapping[str, float]
    less_likely: Mapping[str, float]
    """As improbable as those ruled out, but by what was said: no look at the car speaks against them."""
    ruled_out: Mapping[str, float]
    never_in_question: tuple[str, ...]
    answered: tuple[str, ...]
    not_known: tuple[str, ...]
    not_asked: tuple[str, ...]
    """Checks nobody made that bear on a likely or possible cause."""
    not_needed: tuple[str, ...]


def standing_of(walk: Walk) -> Standing:
    """The groups; a cause that a repair removed counts with its chance before that repair."""
    chances, before = _chances(walk)
    likely = {c: p for c, p in chances.items() if p >= LIKELY}
    possible = {c: p for c, p in chances.items() if POSSIBLE <= p < LIKELY}
    down = {c: p for c, p in chances.items() if p < POSSIBLE <= before.get(c, 0.0)}
    ruled_out = {c: p for c, p in down.items() if _seen_not_to_be(walk, c)}
    less_likely = {c: p for c, p in down.items() if c not in ruled_out}
    answers: dict[str, str | None] = {}
    for answer in walk.case.answers:
        answers[answer.check] = answer.result if answer.result is not None else answers.get(answer.check)
    telling = {check for cause in (*likely, *possible) for check in walk.knowledge.causes[cause].shows}
    stated = walk.view.complaint.reports if walk.view.complaint else {}
    unmade = [c for c in walk.knowledge.checks if c not in answers and c not in stated]
    return Standing(
        _by_chance(likely), _by_chance(possible), _by_chance(less_likely), _by_chance(ruled_out),
        tuple(c for c in walk.knowledge.causes if c not in likely | possible | down),
        tuple(c for c in walk.knowledge.checks if c in stated or answers.get(c) is not None),
        tuple(c for c, result in answers.items() if result is None and c not in stated and c in walk.knowledge.checks),
        tuple(c for c in unmade if c in telling), tuple(c for c in unmade if c not in telling),
    )  # fmt: skip


def _seen_not_to_be(walk: Walk, cause: str) -> bool:
    """True if somebody at the car looked at what this cause shows, and did not find it."""
    knowledge, shows = walk.knowledge, walk.knowledge.causes[cause].shows
    for answer in walk.case.answers:
        if answer.audience is Audience.BAY and answer.result is not None and answer.check in shows:
            expected = dict(
                zip(knowledge.checks[answer.check].names, knowledge.chances(cause, answer.check), strict=True)
            )
            if expected.get(answer.result, 0.0) < UNLIKE:
                return True
    return False


def _by_chance(chances: Mapping[str, float]) -> dict[str, float]:
    return dict(sorted(chances.items(), key=lambda pair: (-pair[1], pair[0])))


def _chances(walk: Walk) -> tuple[dict[str, float], dict[str, float]]:
    """Chance of each cause with all findings, and with the complaint alone."""
    view = walk.view
    names = view.network.causes
    try:
        now = view.belief.was_present
        reports = view.complaint.reports if view.complaint else {}
        told = tuple(
            Sighting(check, view.knowledge.checks[check].names.index(result), 0)
            for check, result in reports.items()
            if check in view.network.observables
        )
        first = posterior(view.network, Evidence(told, {})).present
    except (EngineError, KeyError):  # findings that exclude each other, or that the knowledge no longer has
        return {}, {}
    return (
        {name: float(now[i]) for i, name in enumerate(names)},
        {name: float(first[i]) for i, name in enumerate(names)},
    )


def so_far_lines(walk: Walk, look: Look) -> list[Styled]:
    """What is known now: leading causes, ruled out, open."""
    standing = standing_of(walk)
    lines: list[Styled] = [("title", "So far")]
    return [*lines, *_causes(walk, standing, look), *_unchecked(walk, standing, look)]


def _causes(walk: Walk, standing: Standing, look: Look) -> list[Styled]:
    lines: list[Styled] = []
    names = walk.knowledge.causes
    for cause, chance in list({**standing.likely, **standing.possible}.items())[:3]:
        lines += _put(look, f"{100 * chance:.0f} %", f"{names[cause].name}")
        why = _why(walk, cause)
        lines += _put(look, "", why) if why else []
    return [*lines, *_set_aside(walk, standing, look)]


def _set_aside(walk: Walk, standing: Standing, look: Look) -> list[Styled]:
    """Causes that were in question and are no longer: ruled out by a look, less likely by what was said."""
    names, lines = walk.knowledge.causes, []
    for title, causes in (("Ruled out", standing.ruled_out), ("Less likely", standing.less_likely)):
        gone = sorted(causes, key=lambda c: -names[c].frequency)
        lines += _put(look, title, _some([names[c].name for c in gone], 3)) if gone else []
    return lines


def _why(walk: Walk, cause: str) -> str:
    """The two findings that say most of this cause."""
    from comeback.engine.walk.explanation import weights_of_evidence

    if not walk.view.evidence.sightings or cause not in walk.view.network.causes:
        return ""
    try:
        weights = [w for w in weights_of_evidence(walk.view, cause) if w.decibans > 1][:2]
    except EngineError:
        return ""
    checks = walk.knowledge.checks
    return "for it: " + "; ".join(checks[w.check].results[w.result] for w in weights) if weights else ""


def _unchecked(walk: Walk, standing: Standing, look: Look) -> list[Styled]:
    names = walk.knowledge.checks
    lines = _put(look, "Not known", _some([names[c].name for c in standing.not_known], 3)) if standing.not_known else []
    open_ = [names[c].name for c in standing.not_asked if _for(walk, c)]
    return [*lines, *_put(look, "Not checked", _some(open_, 3) if open_ else "nothing that affects what is left")]


def _for(walk: Walk, check: str) -> bool:
    entry = walk.knowledge.checks[check]
    return walk.audience in entry.audience and walk.view.makes_sense(entry)


def _some(names: Sequence[str], most: int) -> str:
    rest = f"; and {len(names) - most} more" if len(names) > most else ""
    return "; ".join(names[:most]) + rest


def _put(look: Look, title: str, text: str) -> list[Styled]:
    return [("plain", line) for line in look.wrap(text, 15, f"  {title}")]


def result_lines(walk: Walk, look: Look, place: str) -> list[Styled]:
    """The end of a walk in six items: result, causes and ruled out, not checked, next step, file, next command."""
    case, standing = walk.case, standing_of(walk)
    plate = f"  ·  {plate_text(case)}" if plate_text(case) else ""
    lines: list[Styled] = [("faint", look.rule), ("title", f"Result of case {case.id}{plate}")]
    lines += _result(walk, look)
    if case.closed is None:
        lines += _causes(walk, standing, look)
    else:
        lines += _ruled_out_only(walk, standing, look)
    lines += _unchecked(walk, standing, look)
    lines += _put(look, "Next step", _next_step(walk))
    lines += _put(look, "Written", f"case {case.id} in {place}")
    lines += [("say", line) for line in look.wrap(f"Next: {_next_command(walk)}")]
    return [*lines, *(("faint", line) for line in look.wrap(wording.LIMITS, 2, "  "))]


def _ruled_out_only(walk: Walk, standing: Standing, look: Look) -> list[Styled]:
    names = walk.knowledge.causes
    out: list[Styled] = []
    for cause in walk.case.closed.causes[:1] if walk.case.closed else ():
        why = _why(walk, cause) if cause in names else ""
        out += _put(look, "", why) if why else []
    return [*out, *_set_aside(walk, standing, look)]


def _result(walk: Walk, look: Look) -> list[Styled]:
    case, knowledge = walk.case, walk.knowledge
    if case.closed is not None:
        closed = case.closed
        causes = cause_text(knowledge, closed)
        proven = "proven" if closed.proven else "not proven: not everything could be checked"
        repairs = ", ".join(_named(knowledge.repairs, r) for r in closed.repairs)
        said = closed.words or _named(knowledge.complaints, closed.complaint)
        return [*_put(look, "Complaint", said), *_put(look, "Cause", causes),
                *_put(look, "Correction", f"{repairs} ({proven})")]  # fmt: skip
    if case.handed_over is not None and walk.audience is Audience.BAY:
        return _put(look, "Handed over", case.handed_over)
    advice = knowledge.dispositions[Disposition.of(case.disposition or "book")]
    refused = case.refused
    told = advice.within.lower() in advice.name.lower() or refused is not None
    when = "" if told else f" ({advice.within.lower()})"
    more = _put(look, "REFUSED", f"{refused.words} ({refused.by}, {refused.at[11:16]})") if refused else []
    return [*_put(look, "Told", f"{advice.name}{when}"), *more]


def _named(entries: Any, name: str) -> str:
    return str(entries[name].name) if name in entries else name


def _next_step(walk: Walk) -> str:
    case = walk.case
    if case.closed is not None:
        return "print or export the record; give the car back"
    if case.handed_over is not None and walk.audience is Audience.BAY:
        if case.handed_over == NOT_SEEN:
            return "drive it with the customer when the problem shows; until then this record stays open"
        return "give the car and this record to the specialist"
    told = Disposition.of(case.disposition or "book")
    if case.refused is not None:
        return REFUSED_NEXT if told >= Disposition.TOW else "tell the foreman; call the customer back today"
    parts = (f"from {case.place}" if case.place else "", f"call back {case.phone}" if case.phone else "")
    where = "".join(f", {part}" for part in parts if part)
    return {
        Disposition.WATCH: "call the customer back within 2 days",
        Disposition.BOOK: "agree on a day and write it on the order",
        Disposition.COME_IN: "make room in the bay today",
        Disposition.TOW: f"order the tow truck now{where}",
        Disposition.GET_CLEAR: f"make sure people are safe; then have the car picked up{where}",
    }[told]


def _next_command(walk: Walk) -> str:
    case = walk.case
    if case.closed is None and case.handed_over is None:
        return f"the bay goes on with  comeback triage {case.id}"
    return f"comeback record {case.id} --format html -o {case.id}.html"
