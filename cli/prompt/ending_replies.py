"""Replies to the steps in which a walk ends: repair, advice, hand-over, closing, and what comes after a call."""

import re
from collections.abc import Sequence

from comeback.cli.numbers import number_in
from comeback.cli.prompt.reply import NO, UNKNOWN_WORDS, YES, Command, Record, Remark, Reply
from comeback.cli.screens import wording
from comeback.cli.screens.endings import CHOSEN, CONFIRMED, IN_WORDS, NOT_SEEN, PASSED, choices
from comeback.cli.screens.spoken import words_to_say
from comeback.engine.case import facts
from comeback.engine.walk import steps
from comeback.engine.walk.closing import alternatives
from comeback.engine.walk.remedies import solution
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience, Disposition

URGENCIES = tuple(level.word for level in Disposition)
HOW_UP = "up tow REASON - say how far up (book, come-in, tow, get-clear) and why"
HOW_DOWN = "down come-in REASON by NAME - NAME is the second person who agrees, not yourself"
LEAST_WORDS = 3
"""Signs of a reason or of what was said, below which it says nothing."""


def ending_reply(walk: Walk, step: steps.Step, text: str) -> Reply | None:
    """What `text` means for a step of an ending; None if nothing."""
    lower = text.lower()
    match step:
        case steps.DoRepair(repair=repair):
            if lower in ("done", "y", "yes"):
                return Record(facts.Repaired(repair))
            if lower == "fine" and step.sees is not None:
                expected = walk.knowledge.checks[step.sees].expected
                echo = f"Noted: {walk.knowledge.checks[step.sees].results[expected]}. The search goes on."
                return Record(facts.Answered({step.sees: expected}), echo)
            if lower == "skip":
                return Record(facts.Skipped(repair))
            if lower in ("hand-over", "hand over", "handover"):
                return Record(facts.HandedOver(f"instead of: {walk.knowledge.repairs[repair].name}"))
        case steps.Advise():  # the caller says yes or no to what was read back; the words that were said are kept
            level = walk.effective_advice(step.disposition)
            advice = walk.knowledge.dispositions[level]
            said = (*words_to_say(walk, advice), *advice.worse)
            if lower in NO:
                return Record(facts.ReadBack(level.word, agreed=False, said=said), wording.CALLER_SAYS_NO)
            if lower in YES and step.solved and level is Disposition.WATCH:
                return Record(solution(walk.view, step.solved, level, said))
            return Record(facts.Advised(level.word, True, said=said)) if lower in YES else _refused(level, text, said)
        case steps.HandOver(reason, repair, waits=waits) if lower in YES:
            return Record(facts.HandedOver(reason, repair, waits))
        case steps.CloseCase():
            return _closing(walk, step, text)
        case steps.Finished(how):
            return _afterwards(walk, how, text)
    return None


def _behind(word: str, text: str, how: str) -> str | Remark | None:
    """What was said behind `word`; a remark that says `how` if it says nothing, None for any other line."""
    first, _, said = text.partition(" ")
    if first.lower() != word:
        return None
    return said.strip() if len(said.strip()) >= LEAST_WORDS else Remark(how)


def _refused(advice: Disposition, text: str, said: tuple[str, ...] = ()) -> Reply | None:
    words = _behind("refused", text, wording.REFUSED_HOW)
    if not isinstance(words, str):
        return words
    return Record(facts.Refused(advice.word, words, said=said), wording.REFUSED.format(words=words))


def _afterwards(walk: Walk, how: str, text: str) -> Reply | None:
    """What can be done about a call that has ended."""
    lower, last = text.lower(), walk.case.last_told
    if lower == "again":
        on_the_phone = how == "advised" and walk.audience is Audience.PHONE
        return Record(facts.CalledAgain()) if on_the_phone else Remark(wording.AGAIN_CLOSED)
    if how != "advised" or last is None:
        return None
    return Command("tell") if lower == "tell" else _refused(Disposition.of(last.disposition), text)


def _closing(walk: Walk, step: steps.CloseCase, text: str) -> Reply | None:
    """`y` the cause named, numbers to pick, `other WORDS`, "don't know"; None for anything else."""
    causes: Sequence[str] = ()
    words, how = _behind("other", text, wording.OTHER_HOW), IN_WORDS
    if isinstance(words, Remark):
        return words
    if text.lower() in YES and alternatives(walk.knowledge, step):
        return Remark(wording.PICK_CAUSE)
    if text.lower() in YES:
        causes, how = step.causes, CONFIRMED if step.repairs else PASSED
    elif text.lower() in UNKNOWN_WORDS:
        how = NOT_SEEN
    elif words is None:
        listed, how = choices(walk, step), CHOSEN
        numbers = [number_in(one, len(listed)) for one in text.replace(",", " ").split()]
        causes = tuple(dict.fromkeys(listed[number - 1] for number in numbers if number))
        if not (numbers and all(numbers)):
            return None
    return Record(facts.Closed(causes=tuple(causes), cause_named=how, cause_words=words or ""))


def override(walk: Walk, text: str, by: str) -> tuple[facts.Overridden, str] | Remark:
    """`up WORD REASON` or `down WORD REASON by NAME` as what to record and say, or a remark on what is missing."""
    match = re.fullmatch(r"(up|down)\s+([a-z-]+)\s*(.*)", text.strip(), re.IGNORECASE)
    if not match or match[2].lower() not in URGENCIES:
        return Remark(f"Type: {HOW_UP}. Or: {HOW_DOWN}.")
    way, to, rest = match[1].lower(), Disposition.of(match[2].lower()), match[3].strip()
    now = walk.effective_advice(walk.advice().disposition)
    if way == "up" and to < now:
        return Remark(f"It is '{now.word}' already. To make it milder: {HOW_DOWN}.")
    if way == "down" and to >= now:
        return Remark(f"It is '{now.word}' now. To make it more urgent: {HOW_UP}.")
    second = ""
    if way == "down":
        named = re.fullmatch(r"(.*\S)\s+by\s+(\S.*)", rest, re.IGNORECASE)
        if not named or named[2].strip().lower() == by.strip().lower():
            return Remark(f"Milder needs a reason and a second person: {HOW_DOWN}.")
        rest, second = named[1], named[2].strip()
    if len(rest) < LEAST_WORDS:
        return Remark(f"Give the reason too: {HOW_UP}.")
    who = f", agreed by {second}" if second else ""
    changed = f"Changed from {now.word} to {to.word}: {rest}{who}."
    echo = f"It is already '{now.word}'. Your reason is noted." if to == now else changed
    return facts.Overridden(now.word, to.word, rest, second), echo
