"""Cautions: what stands before the step that they belong to."""

from collections.abc import Iterator, Sequence

from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.engine.readout.findings.evidence import has_evidence
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import SignalWord

EVIDENCE_LOST = "evidence-lost"
"""The caution that stands before what may clear codes; with it stands the command that saves them."""


def cautions(walk: Walk, names: Sequence[str], look: Look, short: bool = False) -> Iterator[Styled]:
    """Signal word, what to do, what the hazard is, what happens: before the step they belong to.

    `short`, for cautions that were read on a screen of their own just before: word and command only.
    """
    for name in gravest_first(walk, names):
        caution = walk.knowledge.cautions[name]
        word = caution.word.value
        sign = "" if caution.word is SignalWord.NOTICE else f"{look.alert} "
        lead = f"{sign}{word}  "
        yield ("caution", look.wrap(caution.avoid, len(lead), lead)[0])
        for line in look.wrap(caution.avoid, len(lead), lead)[1:]:
            yield ("caution", line)
        if not short:
            yield from (("plain", line) for line in look.wrap(f"{caution.hazard} {caution.consequence}", len(lead)))
        if name == EVIDENCE_LOST and walk.case.id not in ("", "-") and not has_evidence(walk.events):
            text = wording.SAVE_FIRST.format(case=walk.case.id)
            yield from (("plain", line) for line in look.wrap(text, len(lead), " " * len(lead)))


def gravest_first(walk: Walk, names: Sequence[str]) -> list[str]:
    """Each caution once, by signal word."""
    order = list(SignalWord)
    return sorted(dict.fromkeys(names), key=lambda name: order.index(walk.knowledge.cautions[name].word))
