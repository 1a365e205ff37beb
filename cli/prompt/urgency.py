"""Another disposition than the ruling: up with a reason at any time, down only with a second, named person."""

import re
from typing import Any

from comeback.cli.prompt.reply import Record, Remark
from comeback.cli.screens import wording
from comeback.engine.case.events import Kind
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Disposition

WORDS = tuple(level.word for level in Disposition)
HOW_UP = "up tow REASON - say how far up (book, come-in, tow, get-clear) and why"
HOW_DOWN = "down come-in REASON by NAME - NAME is the second person who agrees, not yourself"


def override(walk: Walk, text: str, by: str) -> Record | Remark:
    """`up WORD REASON` or `down WORD REASON by NAME` as what to record, or a remark that says what is missing."""
    match = re.fullmatch(r"(up|down)\s+([a-z-]+)\s*(.*)", text.strip(), re.IGNORECASE)
    if not match or match[2].lower() not in WORDS:
        return Remark(f"Type: {HOW_UP if text.lower().startswith('up') else HOW_DOWN}.")
    way, to, rest = match[1].lower(), Disposition.of(match[2].lower()), match[3].strip()
    now = walk.told(walk.advice().disposition)
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
    if len(rest) < 3:
        return Remark(f"Give the reason too: {HOW_UP}.")
    if to == now:
        same = {"ruled": now.word, "to": to.word, "reason": rest, "second": ""}
        return Record(Kind.OVERRIDDEN, same, wording.ALREADY.format(word=now.word))
    payload: dict[str, Any] = {"ruled": now.word, "to": to.word, "reason": rest, "second": second}
    who = f", agreed by {second}" if second else ""
    return Record(Kind.OVERRIDDEN, payload, f"Changed from {now.word} to {to.word}: {rest}{who}.")
