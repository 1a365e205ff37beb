"""What a walk came to: every cause and check in one of a few groups, and the screens that say so."""

from collections.abc import Mapping
from dataclasses import dataclass

from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.cli.screens.endings import NO_CORRECTION, cause_text
from comeback.cli.screens.event_text import complaints_text, first_of, name_of, plate_text, solved_text
from comeback.cli.screens.spoken import when
from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.exact_posterior import posterior
from comeback.engine.errors import EngineError
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience, Disposition

REFUSED_NEXT = (
    "no tow truck: it was refused. Tell the foreman now; call the customer back within 1 hour; "
    "never say that a short trip will be fine"
)
MOST_NAMED = 3
LIKELY, POSSIBLE = 0.10, 0.01
"""Chances from which a cause counts as likely, as still possible; below it is less likely, if it was in question."""
CAN_SEE = 0.8
"""A look that shows the cause at least this often rules it out when all is as it should be; judged."""


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
    checks, chances, before = walk.knowledge.checks, *_chances(walk)
    chances = dict(sorted(chances.items(), key=lambda pair: (-pair[1], pair[0])))
    likely = {c: p for c, p in chances.items() if p >= LIKELY}
    possible = {c: p for c, p in chances.items() if POSSIBLE <= p < LIKELY}
    down = {c: p for c, p in chances.items() if p < POSSIBLE <= before.get(c, 0.0)}
    ruled_out = {c: p for c, p in down.items() if _seen_not_to_be(walk, c)}
    less_likely = {c: p for c, p in down.items() if c not in ruled_out}
    answers: dict[str, str | None] = {}
    for answer in walk.case.answers:
        answers[answer.check] = answer.result if answer.result is not None else answers.get(answer.check)
    telling = {check for cause in (*likely, *possible) for check in walk.knowledge.causes[cause].shows}
    stated = walk.view.stated
    unmade = [c for c in checks if c not in answers and c not in stated]
    return Standing(
        likely, possible, less_likely, ruled_out,
        tuple(c for c in walk.knowledge.causes if c not in likely | possible | down),
        tuple(c for c in checks if c in stated or answers.get(c) is not None),
        tuple(c for c, result in answers.items() if result is None and c not in stated and c in checks),
        tuple(c for c in unmade if c in telling), tuple(c for c in unmade if c not in telling),
    )  # fmt: skip


def _seen_not_to_be(walk: Walk, cause: str) -> bool:
    """True if somebody at the car made a look that can see this cause, and found all as it should be.

    No word of the customer's is such a look, nor a list of codes: it says where to look.
    """
    knowledge, shows = walk.knowledge, walk.knowledge.causes[cause].shows
    for answer in walk.case.answers:
        check = knowledge.checks.get(answer.check)
        if check is None or check.id not in shows or check.asks_customer or check.panel:
            continue
        fine = answer.audience is Audience.BAY and answer.result == check.expected
        if fine and 1 - knowledge.chances(cause, check.id)[0] >= CAN_SEE:
            return True
    return False


def _chances(walk: Walk) -> tuple[dict[str, float], dict[str, float]]:
    """Chance of each cause with all findings, and with the complaint alone."""
    view, names = walk.view, walk.view.network.causes
    if view.passed or view.not_covered:  # nothing is looked for
        return {}, {}
    try:
        told = tuple(
            Sighting(check, view.knowledge.checks[check].names.index(result), 0)
            for check, result in view.stated.items()
            if check in view.network.observables
        )
        found = (view.belief.was_present, posterior(view.network, Evidence(told, {})).present)
    except (EngineError, KeyError):  # findings that exclude each other, or that the knowledge no longer has
        return {}, {}
    now, first = ({name: float(chances[i]) for i, name in enumerate(names)} for chances in found)
    return now, first


def so_far_lines(walk: Walk, look: Look) -> list[Styled]:
    """What is known now: leading causes, ruled out, open."""
    standing = standing_of(walk)
    return [("title", "So far"), *_causes(walk, standing, look), *_unchecked(walk, standing, look)]


def _causes(walk: Walk, standing: Standing, look: Look, named: bool = True) -> list[Styled]:
    """Leading causes with what speaks for them; then those ruled out by a look, or less likely by what was said.

    Once a repair is proven or the case is closed, its causes have no chance any more; not `named`: they stand above.
    """
    names, closed, step = walk.knowledge.causes, walk.case.closed, walk.step
    found = closed or (step if isinstance(step, steps.CloseCase) and step.proven else None)
    label = "Proven" if found and found.proven else "Not proven"
    likely = {c: f"{100 * chance:.0f} %" for c, chance in {**standing.likely, **standing.possible}.items()}
    shown = dict.fromkeys(found.causes, label) if found else likely
    lines: list[Styled] = []
    for cause, told in list(shown.items())[:3]:
        lines += _put(look, told, name_of(names, cause)) if named else []
        lines += _put(look, "", _why(walk, cause))
    for title, causes in (("Ruled out", standing.ruled_out), ("Less likely", standing.less_likely)):
        gone = sorted((c for c in causes if c not in shown), key=lambda c: -names[c].frequency)
        lines += _put(look, title, first_of([names[c].name for c in gone], MOST_NAMED))
    return lines


def _why(walk: Walk, cause: str) -> str:
    """The two findings that say most of this cause."""
    from comeback.engine.walk.explanation import weights_of_evidence

    if not walk.view.evidence.sightings or cause not in walk.view.network.causes:
        return ""
    try:
        found = [w for w in weights_of_evidence(walk.view, cause) if w.decibans > 1]
    except EngineError:
        return ""
    checks = walk.knowledge.checks  # what is as it should be speaks for no cause in anybody's ears
    weights = [w for w in found if w.result != checks[w.check].expected][:2]
    return "for it: " + "; ".join(checks[w.check].results[w.result] for w in weights) if weights else ""


def _unchecked(walk: Walk, standing: Standing, look: Look) -> list[Styled]:
    checks = walk.knowledge.checks
    fitting = (checks[c] for c in standing.not_asked if walk.audience in checks[c].audience)
    left = first_of([check.name for check in fitting if walk.view.makes_sense(check)], MOST_NAMED)
    lines = _put(look, "Not known", first_of([checks[c].name for c in standing.not_known], MOST_NAMED))
    return [*lines, *_put(look, "Not checked", left or "nothing that affects what is left")]


def _put(look: Look, title: str, text: str) -> list[Styled]:
    """A row of the screen: a title and its text."""
    return look.styled("plain", text, 15, f"  {title}")


def result_lines(walk: Walk, look: Look, place: str) -> list[Styled]:
    """The end of a walk in six items: result, causes and ruled out, not checked, next step, file, next command."""
    case, standing = walk.case, standing_of(walk)
    plate = f"  ·  {plate_text(case)}" if plate_text(case) else ""
    lines: list[Styled] = [("faint", look.rule), ("title", f"Result of case {case.id}{plate}")]
    lines += [*_result(walk, look), *_causes(walk, standing, look, named=case.closed is None)]
    lines += _unchecked(walk, standing, look)
    lines += _put(look, "Next step", _next_step(walk))
    lines += _put(look, "Written", f"case {case.id} in {place}")
    command = f"comeback record {case.id} --format html -o {case.id}.html"
    if case.closed is None and case.handed_over is None and case.solved is None:
        command = f"the bay goes on with  comeback triage {case.id}"
    return [*lines, *look.styled("say", f"Next: {command}"), *look.styled("faint", wording.LIMITS, 2, "  ")]


def _result(walk: Walk, look: Look) -> list[Styled]:
    case, knowledge = walk.case, walk.knowledge
    if case.closed is not None:
        closed = case.closed
        proven = "proven" if closed.proven else "not proven: not everything could be checked"
        repairs = ", ".join(name_of(knowledge.repairs, r) for r in closed.repairs)
        done = f"{repairs} ({proven})" if repairs else NO_CORRECTION.get(closed.cause_named, "none")
        said = closed.words or complaints_text(knowledge, case.complaints)
        return [*_put(look, "Complaint", said), *_put(look, "Cause", cause_text(knowledge, closed)),
                *_put(look, "Correction", done)]  # fmt: skip
    if case.handed_over is not None and walk.audience is Audience.BAY:
        return _put(look, "Handed over", case.handed_over)
    if case.solved is not None:
        return _put(look, "Solved", f"on the phone: {solved_text(knowledge, case)}")
    advice = knowledge.dispositions[Disposition.of(case.disposition or "book")]
    refused = case.refused
    within = f" ({when(advice).lower()})" if when(advice) and refused is None else ""
    more = _put(look, "REFUSED", f"{refused.words} ({refused.by}, {refused.at[11:16]})") if refused else []
    return [*_put(look, "Told", f"{advice.name}{within}"), *more]


def _next_step(walk: Walk) -> str:
    case = walk.case
    if case.closed is not None:
        return "print or export the record; give the car back"
    if case.handed_over is not None and walk.audience is Audience.BAY:
        if case.waits:
            return "drive it with the customer when the problem shows; until then this record stays open"
        return "give the car and this record to the specialist"
    told = Disposition.of(case.disposition or "book")
    if case.solved is not None:
        return "none, unless the customer calls again"
    if case.refused is not None:
        return REFUSED_NEXT if told >= Disposition.TOW else "tell the foreman; call the customer back today"
    where = f", {f'from {case.place}' if case.place else 'no place taken'}, "
    where += f"call back {case.phone}" if case.phone else "no number taken"
    return {
        Disposition.WATCH: "call the customer back within 2 days",
        Disposition.BOOK: "agree on a day and write it on the order",
        Disposition.COME_IN: "make room in the bay today",
        Disposition.TOW: f"order the tow truck now{where}",
        Disposition.GET_CLEAR: f"make sure people are safe; then have the car picked up{where}",
    }[told]
