"""Hazards before the step that they belong to, and the procedures that follow a repair with hazards of their own."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.cli.screens.spoken import worst
from comeback.engine.belief.network import fits
from comeback.engine.case.case import standing
from comeback.engine.case.facts import Warned, fact_of
from comeback.engine.case.result_words import result_alone
from comeback.engine.readout.findings.evidence import has_evidence
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import Procedure
from comeback.kb.vocabulary import Disposition, SignalWord

EVIDENCE_LOST = "evidence-lost"
"""The caution that stands before what may clear codes; with it stands the command that saves them."""


def cautions(walk: Walk, names: Sequence[str], look: Look, short: bool = False, full: int = 0) -> Iterator[Styled]:
    """Signal word, what to do, what the hazard is, what happens: before the step they belong to.

    `short`: word and command only, as of cautions just read on a screen of their own; the `full` gravest stay whole.
    """
    for place, name in enumerate(gravest_first(walk, names)):
        caution = walk.knowledge.cautions[name]
        lead = f"{'' if caution.word is SignalWord.NOTICE else f'{look.alert} '}{caution.word.value}  "
        yield from look.styled("caution", caution.avoid, len(lead), lead)
        if not short or place < full:
            yield from look.styled("plain", f"{caution.hazard} {caution.consequence}", len(lead))
        if name == EVIDENCE_LOST and walk.case.id not in ("", "-") and not has_evidence(walk.events):
            yield from look.styled("plain", wording.SAVE_FIRST.format(case=walk.case.id), len(lead), " " * len(lead))


def fitting_cautions(walk: Walk, names: Sequence[str], look: Look, room: int) -> list[Styled]:
    """The cautions in at most `room` lines, where they can be: of the least grave the word and command only."""
    for full in range(len(set(names)), 0, -1):
        lines = list(cautions(walk, names, look, short=True, full=full))
        if len(lines) <= room:
            return lines
    return list(cautions(walk, names, look, short=True))


def reminders(walk: Walk, names: Sequence[str], look: Look) -> list[Styled]:
    """Cautions read on an earlier page in their short form, those of one signal word together."""
    known, lines = walk.knowledge.cautions, list[Styled]()
    for word, group in groupby((known[name] for name in gravest_first(walk, names)), key=lambda one: one.word):
        lead = f"{'' if word is SignalWord.NOTICE else f'{look.alert} '}{word.value}  "
        told = ". ".join(one.reminder or one.avoid.rstrip(".") for one in group)
        lines += look.styled("caution", f"{told}.", len(lead), lead)
    return lines


def read_on_stops(walk: Walk) -> set[str]:
    """Cautions that were read on a stop screen since the last repair: a word was typed for them."""
    since = walk.case.repairs[-1].number if walk.case.repairs else 0
    facts = (fact_of(event) for event in standing(walk.events) if event.number > since)
    return {name for fact in facts if isinstance(fact, Warned) for name in fact.cautions}


def gravest_first(walk: Walk, names: Sequence[str]) -> list[str]:
    """Each caution once, by signal word."""
    return sorted(dict.fromkeys(names), key=lambda name: walk.knowledge.cautions[name].word.rank)


def only_asked(walk: Walk) -> bool:
    """True for a question that the bay puts to the customer: nobody touches the car until a repair is to be tried."""
    step = walk.step
    asks = isinstance(step, steps.MakeCheck) and walk.knowledge.checks[step.check].asks_customer
    return asks and not walk.case.repairs


def despite_lines(walk: Walk, look: Look) -> list[Styled]:
    """The box that stands first on a step that runs the engine although a danger sign says to keep it off.

    DANGER if one of the signs sends people away from the car, else WARNING; nothing if no sign stands.
    """
    step, checks, results = walk.step, walk.knowledge.checks, walk.view.results
    signs = [sign for sign in getattr(step, "despite", ()) if sign in checks]
    if not signs or only_asked(walk):
        return []
    seen = {sign: results.get(sign) or worst(checks[sign]) for sign in signs}
    grave = any(checks[sign].red_flag.get(result) is Disposition.GET_CLEAR for sign, result in seen.items())
    lead = f"{look.alert} {(SignalWord.DANGER if grave else SignalWord.WARNING).value}  "
    named = "; ".join(result_alone(checks[sign], result) for sign, result in seen.items())
    return look.styled("caution", wording.DESPITE.format(signs=named[:1].upper() + named[1:]), len(lead), lead)


def procedures(walk: Walk, repair: str) -> list[Procedure]:
    """Those of the repair that fit this car, in order; what is not known of the car allows them."""
    known = walk.knowledge
    found = (known.procedures[name] for name in known.repairs[repair].procedures)
    return [entry for entry in found if fits(entry.only_if, walk.case.vehicle)]


def procedure_cautions(walk: Walk, repair: str) -> list[str]:
    """Ids of the cautions of all procedures of the repair."""
    return [name for entry in procedures(walk, repair) for name in entry.cautions]


def title(entry: Procedure) -> Styled:
    """The line by which a procedure begins; `pages` knows it again."""
    return "title", f"Then: {entry.name}"


def procedure_lines(walk: Walk, repair: str, look: Look, read: Iterable[str]) -> Iterator[Styled]:
    """Each procedure: title, cautions, when it may begin, steps, how one sees the end.

    Cautions that were `read` before, on this step or its stop screen, are told again by word and command only.
    """
    known = set(read)
    for entry in procedures(walk, repair):
        yield title(entry)
        for name in gravest_first(walk, entry.cautions):
            yield from cautions(walk, [name], look, short=name in known)
        known.update(entry.cautions)
        yield from look.styled("plain", entry.when, 9, "  When   ")
        for number, text in enumerate(entry.steps, 1):
            yield from look.styled("plain", text, 6, f"  {number:2d}  ")
        yield from look.styled("plain", entry.done_when, 9, "  Done   ")


def heads(walk: Walk, repair: str) -> dict[Styled, tuple[str, ...]]:
    """Title of each procedure -> its cautions, which stand again on a page that goes on with it."""
    return {title(entry): tuple(entry.cautions) for entry in procedures(walk, repair)}
