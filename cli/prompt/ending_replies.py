"""Replies to the steps in which a walk ends: repair, advice, hand-over, closing, and what comes after a call."""

from collections.abc import Mapping

from comeback.cli.prompt.closing_cause import closing_reply
from comeback.cli.prompt.reply import NO, UNKNOWN_WORDS, YES, Command, Record, Remark, Reply
from comeback.cli.screens import wording
from comeback.cli.screens.spoken import words_to_say
from comeback.engine.case.events import Kind
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

LEAST_WORDS = 3
"""Signs of a reason or of what was said, below which it says nothing."""


def ending_reply(walk: Walk, step: steps.Step, text: str) -> Reply | None:
    """What `text` means for a step of an ending; None if nothing."""
    lower = text.lower()
    match step:
        case steps.DoRepair(repair=repair):
            if lower in ("done", "y", "yes"):
                return Record(Kind.REPAIRED, {"repair": repair})
            if lower == "skip":
                return Record(Kind.SKIPPED, {"repair": repair})
            if lower in ("hand-over", "hand over", "handover"):
                return Record(Kind.HANDED_OVER, {"reason": f"instead of: {walk.knowledge.repairs[repair].name}"})
        case steps.Advise():
            return _advice(walk, step, text)
        case steps.HandOver(reason, repair) if lower in YES:
            return Record(Kind.HANDED_OVER, {"reason": reason, "repair": repair})
        case steps.CloseCase():
            return closing_reply(walk, step, text, UNKNOWN_WORDS)
        case steps.Finished():
            return _afterwards(walk, step, text)
    return None


def _advice(walk: Walk, step: steps.Advise, text: str) -> Reply | None:
    """The caller says yes or no to what was read back, or refuses to do it; the words that were said are kept."""
    level = walk.told(step.disposition)
    advice = walk.knowledge.dispositions[level]
    told = {"disposition": level.word, "said": [*words_to_say(walk, advice), *advice.worse]}
    lower = text.lower()
    if lower in NO:
        return Record(Kind.READ_BACK, {"agreed": False, **told}, wording.CALLER_SAYS_NO)
    if lower in YES:
        return Record(Kind.ADVISED, {**told, "agreed": True})
    return _refused(told, text)


def _refused(told: Mapping[str, object], text: str) -> Reply | None:
    """`refused WORDS`; None for anything else."""
    word, _, said = text.partition(" ")
    if word.lower() != "refused":
        return None
    if len(said.strip()) < LEAST_WORDS:
        return Remark(wording.REFUSED_HOW)
    return Record(Kind.REFUSED, {**told, "words": said.strip()}, wording.REFUSED.format(words=said.strip()))


def _afterwards(walk: Walk, step: steps.Finished, text: str) -> Reply | None:
    """What can be done about a call that has ended."""
    lower, last = text.lower(), walk.case.last_told
    if lower == "again":
        ended = step.how != "advised" or walk.audience is not Audience.PHONE
        return Remark(wording.AGAIN_CLOSED) if ended else Record(Kind.CALLED_AGAIN, {})
    if step.how != "advised" or last is None:
        return None
    if lower == "tell":
        return Command("tell")
    return _refused({"disposition": last.disposition}, text)
