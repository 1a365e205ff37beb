"""What was typed -> a response to the step, a command, or a remark that says what is accepted."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches

from comeback.cli import wording
from comeback.engine import case as events
from comeback.engine import steps
from comeback.engine.errors import BadReading
from comeback.engine.readings import band
from comeback.engine.walk import Walk
from comeback.kb.schema import Check

COMMANDS: Mapping[str, str] = {
    "?": "help", "help": "help", "w": "why", "why": "why", "b": "back", "back": "back",
    "r": "review", "review": "review", "q": "leave", "quit": "leave", "save": "leave", "exit": "leave",
}  # fmt: skip
UNKNOWN_WORDS = frozenset({"d", "don't know", "dont know", "don't-know", "unknown"})
YES, NO = frozenset({"y", "yes"}), frozenset({"n", "no"})


@dataclass(frozen=True)
class Command:
    """Something else than an answer: help, why, back, review, leave, note."""

    name: str
    text: str = ""


@dataclass(frozen=True)
class Remark:
    """Not accepted; says what is."""

    text: str


@dataclass(frozen=True)
class Record:
    """What to record: an event kind with its payload, or answers to checks."""

    kind: str
    payload: Mapping[str, object] = field(default_factory=dict)
    echo: str = ""


@dataclass(frozen=True)
class Words:
    """The customer's own words, to be matched with a complaint."""

    text: str


Reply = Command | Remark | Record | Words


def read_reply(walk: Walk, typed: str, found: Sequence[str] = (), hint: str = "") -> Reply:
    """The reply that `typed` means for the walk's step; `found` are complaints listed before."""
    text = " ".join(typed.replace("\x00", "").split())
    if not text:
        return Remark(wording.EMPTY.format(hint=hint))
    lower = text.lower()
    if lower in COMMANDS:
        return Command(COMMANDS[lower])
    if lower == "note" or lower.startswith("note "):
        return Command("note", text[5:].strip())
    reply = _answer(walk, text, found)
    return reply or Remark(_not_an_answer(walk, text, hint))


def _not_an_answer(walk: Walk, text: str, hint: str) -> str:
    shown = text if len(text) <= 40 else text[:37] + "..."
    return wording.NOT_AN_ANSWER.format(text=shown, hint=hint)


def _answer(walk: Walk, text: str, found: Sequence[str]) -> Reply | None:
    step, lower = walk.step, text.lower()
    match step:
        case steps.ChooseService(services):
            picked = pick(text, services) or _service_by_words(walk, text, services)
            return Record(events.SERVICE, {"service": picked}) if picked else None
        case steps.ChooseComplaint(complaints):
            picked = pick(text, found) if found else (text if text in complaints else None)
            return Record(events.COMPLAINT, {"complaint": picked}) if picked else Words(text)
        case steps.ChooseCondition(feature, values):
            value = None if lower in UNKNOWN_WORDS else pick(text, values)
            known = value is not None or lower in UNKNOWN_WORDS
            return Record(events.CONDITION, {"feature": feature, "value": value}) if known else None
        case steps.TakeOneBack(numbers=numbers):
            return _take_back(numbers, lower)
        case steps.DangerScreen(checks):
            return _screen(walk, checks, lower)
        case steps.ReadPanel(checks=checks):
            return _panel(walk, checks, text)
        case steps.MakeCheck(check=check) | steps.ProveRepair(check=check):
            return _result(walk.knowledge.checks[check], text)
        case _:
            return _ending(walk, step, lower)


def _service_by_words(walk: Walk, text: str, services: Sequence[str]) -> str | None:
    """The only service whose names hold all the words typed."""
    words = text.lower().split()
    entries = walk.knowledge.services
    names = {s: " ".join((entries[s].name, entries[s].plain, *entries[s].words)).lower() for s in services}
    fitting = [service for service, name in names.items() if all(word in name for word in words)]
    return fitting[0] if len(fitting) == 1 else None


def _ending(walk: Walk, step: steps.Step, lower: str) -> Reply | None:
    match step:
        case steps.DoRepair(repair=repair):
            if lower in ("done", "y", "yes"):
                return Record(events.REPAIRED, {"repair": repair})
            if lower == "skip":
                return Record(events.SKIPPED, {"repair": repair})
            if lower in ("hand-over", "hand over", "handover"):
                return Record(events.HANDED_OVER, {"reason": f"instead of: {walk.knowledge.repairs[repair].name}"})
        case steps.Advise() if lower in YES | NO:
            return Record(events.ADVISED, {"disposition": step.disposition.word, "agreed": lower in YES})
        case steps.HandOver(reason, repair) if lower in YES:
            return Record(events.HANDED_OVER, {"reason": reason, "repair": repair})
        case steps.CloseCase() if lower in YES:
            return Record(events.CLOSED, {})
    return None


def pick(text: str, choices: Sequence[str]) -> str | None:
    """The choice meant by its number from 1, its id, or the start of its id."""
    if text.isdecimal():
        number = int(text) if len(text) < 4 else 0
        return choices[number - 1] if 1 <= number <= len(choices) else None
    lower = text.lower().replace(" ", "-")
    starts = [choice for choice in choices if choice.startswith(lower)]
    if lower in choices:
        return lower
    if len(starts) == 1:
        return starts[0]
    near = get_close_matches(lower, choices, n=1, cutoff=0.85)
    return near[0] if near else None


def _result(check: Check, text: str) -> Reply | None:
    lower = text.lower()
    if lower in UNKNOWN_WORDS:
        return _answers({check.id: None})
    if set(check.results) == {"no", "yes"} and lower in YES | NO:
        return _answers({check.id: "yes" if lower in YES else "no"})
    if check.reading is not None and re.match(r"[-+]?[.,]?\d", text):
        try:
            banded = band(check, text)
        except BadReading as error:
            return Remark(str(error))
        return _answers({check.id: banded.result}, {check.id: str(banded)},
                        f"{banded}: {check.results[banded.result]}")  # fmt: skip
    picked = pick(text, check.names)
    return _answers({check.id: picked}) if picked else None


def _answers(results: Mapping[str, str | None], readings: Mapping[str, str] | None = None, echo: str = "") -> Record:
    return Record(events.ANSWERED, {"results": dict(results), "readings": dict(readings or {})}, echo)


def _screen(walk: Walk, checks: Sequence[str], lower: str) -> Reply | None:
    """`n`, `d`, or the numbers of the signs that fit; a sign with several results needs its letter."""
    if lower in UNKNOWN_WORDS:
        return _answers(dict.fromkeys(checks))
    results: dict[str, str | None] = {check: walk.knowledge.checks[check].expected for check in checks}
    if lower in NO | {"none", "0"}:
        return _answers(results)
    for token in lower.replace(",", " ").split():
        match = re.fullmatch(r"(\d{1,2})([a-g]?)(\??)", token)
        if not match or not 1 <= int(match[1]) <= len(checks):
            return None
        check = walk.knowledge.checks[checks[int(match[1]) - 1]]
        abnormal = check.names[1:]
        if match[3]:
            results[check.id] = None
        elif match[2] and "abcdefg".index(match[2]) < len(abnormal):
            results[check.id] = abnormal["abcdefg".index(match[2])]
        elif len(abnormal) == 1 and not match[2]:
            results[check.id] = abnormal[0]
        else:
            return Remark(f"Which of them? Type {match[1]} with a letter: {_letters(match[1], check)}.")
    return _answers(results)


def _take_back(numbers: Sequence[int], lower: str) -> Reply | None:
    if lower not in ("1", "2"):
        return None
    number = numbers[int(lower) - 1]
    if not number:
        return Remark("That is the complaint itself. Go back with b and choose another, or take the other one back.")
    return Record(events.TAKEN_BACK, {"number": number, "kind": events.ANSWERED})


def _panel(walk: Walk, checks: Sequence[str], text: str) -> Reply | None:
    """Trouble codes (each sets the result it stands for), `check:result`, `n`, or `d`."""
    lower = text.lower()
    if lower in UNKNOWN_WORDS:
        return _answers(dict.fromkeys(checks))
    results: dict[str, str | None] = {check: walk.knowledge.checks[check].expected for check in checks}
    codes, unknown = [], []
    for token in [] if lower in NO | {"none", "0"} else lower.replace(",", " ").split():
        check, _, result = token.partition(":")
        if check in checks and result in walk.knowledge.checks[check].results:
            results[check] = _worse(walk.knowledge.checks[check], results[check], result)
        elif re.fullmatch(r"[pcbu][0-3][0-9a-f]{3}", token):
            codes.append(token.upper())
            hits = [(c, r) for c in checks for r, known in walk.knowledge.checks[c].codes.items() if codes[-1] in known]
            for name, meant in hits:
                results[name] = _worse(walk.knowledge.checks[name], results[name], meant)
            unknown += [] if hits else [codes[-1]]
        else:
            return None
    echo = f"{', '.join(unknown)}: noted, but no family here has it." if unknown else ""
    reply = _answers(results, echo=echo)
    return Record(reply.kind, {**reply.payload, "codes": codes}, echo)


def _worse(check: Check, one: str | None, other: str) -> str:
    """The later of two results: the one that dominates."""
    return max(one or check.expected, other, key=check.names.index)


def _letters(number: str, check: Check) -> str:
    labels = list(check.results.values())[1:]
    return ", ".join(f"{number}{'abcdefg'[i]} {label}" for i, label in enumerate(labels))
