"""Before a check: whom does the trainee suspect most, and what does he expect? Both may be skipped by one key."""

import re
from dataclasses import dataclass, field
from typing import Any

from comeback.cli.drill.search import search
from comeback.cli.look import Look, Styled
from comeback.cli.words.numbers import number_in
from comeback.engine.drill import record
from comeback.engine.drill.drill import Drill

SKIP = ("", "-", "s", "skip")
SKIPS = "Enter skips   off  do not ask again"
_SURE = re.compile(r"^(.*?)\s*(\d{1,3})\s*%$")


@dataclass
class Before:
    """The check that waits; `suspect`: that question is still open; `found` are causes listed for it.

    `sure`: how sure the trainee said he was of the cause that he is still choosing, 0 to 1.
    """

    check: str
    suspect: bool = True
    found: list[str] = field(default_factory=list)
    sure: float | None = None


@dataclass(frozen=True)
class Said:
    """What a reply amounts to: `acts` to record, a `remark`, `done` if the check is made now, `off` for good."""

    acts: tuple[tuple[str, dict[str, Any]], ...] = ()
    remark: str = ""
    done: bool = False
    off: bool = False


def screen(drill: Drill, before: Before, look: Look) -> list[Styled]:
    """The question that is open."""
    check = drill.knowledge.checks[before.check]
    if before.found:
        names = [drill.knowledge.causes[name].name for name in before.found]
        rows = [("plain", x) for n, name in enumerate(names, 1) for x in look.wrap(name, 6, f"   {n}  ")]
        return [*rows, ("faint", f"type a number, or other words   {SKIPS}")]
    if before.suspect:
        text = "Whom do you suspect most? Words, or words 70% if you know how sure you are."
        return [*(("title", x) for x in look.wrap(f"Before you look: {check.name}")), ("plain", text), ("faint", SKIPS)]
    rows = [("plain", x) for n, text in enumerate(check.results.values(), 1) for x in look.wrap(text, 6, f"   {n}  ")]
    return [("plain", "What do you expect? Type a number."), *rows, ("faint", SKIPS)]


def respond(drill: Drill, before: Before, text: str) -> Said:
    """One reply to the open question."""
    lower = text.lower()
    if lower == "off":
        return Said(done=True, off=True)
    if lower in SKIP:
        return Said(done=True)
    return _suspect(drill, before, lower) if before.suspect else _expect(drill, before, lower)


def _suspect(drill: Drill, before: Before, lower: str) -> Said:
    stated = _SURE.match(lower)
    words = stated[1] if stated else lower
    if stated:
        before.sure = min(int(stated[2]), 100) / 100
    if words.isdecimal() and before.found:
        number = number_in(words, len(before.found))
        if number is None:
            return Said(remark="There is no such number.")
        return _chosen(drill, before, before.found[number - 1])
    found, exact = search(drill, words, ("suspect",))
    before.found = [name for _, name in found]
    if exact or len(found) == 1:
        return _chosen(drill, before, before.found[0])
    return Said(remark="" if found else "No cause is called that. Other words, or Enter to skip.")


def _chosen(drill: Drill, before: Before, cause: str) -> Said:
    before.suspect, before.found = False, []
    one = len(drill.group(before.check)) == 1
    act = (record.SUSPECTED, {"causes": [cause], "sure": before.sure})
    sure = f", {100 * before.sure:.0f} %" if before.sure is not None else ""
    return Said((act,), f"Suspect: {drill.knowledge.causes[cause].name}{sure}", done=not one)


def _expect(drill: Drill, before: Before, lower: str) -> Said:
    names = drill.knowledge.checks[before.check].names
    number = number_in(lower, len(names))
    if number is None:
        return Said(remark=f"Type a number from 1 to {len(names)}, or Enter to skip.")
    return Said(((record.EXPECTED, {"result": names[number - 1]}),), done=True)
