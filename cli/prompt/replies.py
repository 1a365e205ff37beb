"""What was typed as an answer to the step -> what is to be recorded, or a remark that says what is accepted."""

import re
from collections.abc import Collection, Mapping, Sequence

from comeback.cli.numbers import number_in
from comeback.cli.prompt.ending_replies import ending_reply
from comeback.cli.prompt.reply import NO, UNKNOWN_WORDS, YES, Doubt, Record, Remark, Reply, Words
from comeback.cli.screens import wording
from comeback.cli.screens.heading import shortened
from comeback.cli.screens.screens import lettered
from comeback.cli.words.search import find_complaints, open_complaint
from comeback.cli.words.search_services import find_services, tells_of_work
from comeback.cli.words.sentence import trouble_said, work_said
from comeback.engine.case import facts
from comeback.engine.case.case import standing
from comeback.engine.errors import BadReading
from comeback.engine.readings import (
    american_unit,
    asked_back,
    band,
    begins_a_number,
    is_difference,
    read_number,
    without_unit,
)
from comeback.engine.readout.findings.code_findings import family_results, no_family, without_family
from comeback.engine.readout.text.typed_data import code_list
from comeback.engine.walk import steps
from comeback.engine.walk.opening import main_first
from comeback.engine.walk.walk import Walk
from comeback.kb.nearest import nearest
from comeback.kb.schema import Check, KnowledgeBase, Reading
from comeback.kb.vocabulary import Audience

OTHER_UNIT = {
    "us": {"kPa": "psi", "bar": "psi", "°C": "°F"},
    "metric": {"psi": "kPa", "inHg": "kPa", "bar": "kPa", "°F": "°C"},
}
"""What a reading is shown in beside its own unit, by the configured system; "both" uses either table."""
OVER = frozenset({"over range", "over", "overrange", "ol", "o.l.", "off scale", "over limit"})
UNDER = frozenset({"under range", "under", "underrange", "below range"})
NO_READING = frozenset({"no reading", "nothing shown", "blank", "no value", "not shown"})
EDGE = 0.05
"""Readings in the outermost part of what is possible are asked about once, unless that is where they belong."""
NONE, OK = frozenset({"none", "0"}), frozenset({"ok", "all right"})
NONE_OF_THESE = NONE | {"n", "none of these", "none of them", "other", "something else"}


def read_answer(
    walk: Walk, text: str, found: Sequence[str] = (), hint: str = "", units: str = "both", commands: Sequence[str] = ()
) -> Reply:
    """What `text` means as an answer to the walk's step.

    `found` are complaints listed before, `units` are echoed; `commands` are words that may have been meant instead.
    """
    reply = _answer(walk, text, found, units)
    if reply is not None:
        return reply
    names: Sequence[str] = ()
    match walk.step:
        case steps.MakeCheck(check=check) | steps.ProveRepair(check=check):
            names = walk.knowledge.checks[check].names
        case steps.ChooseService(services):
            names = services
    near = nearest(text.lower(), [*commands, *names], likeness=0.75)
    meant = f" Did you mean '{near[0]}'?" if near and len(text) > 2 else ""
    return Remark(wording.NOT_AN_ANSWER.format(text=shortened(text, 40), hint=hint) + meant)


def _answer(walk: Walk, text: str, found: Sequence[str], units: str) -> Reply | None:
    step, lower = walk.step, text.lower()
    match step:
        case steps.DangerScreen() | steps.ReadPanel() | steps.LookRound() | steps.ProofRound() if (
            lower in UNKNOWN_WORDS
        ):
            return _answers(dict.fromkeys(step.checks))
        case steps.ChooseService(services):
            return _service(walk, text, services)
        case steps.ChooseComplaint(complaints):
            return _complaint(walk, text, complaints, found)
        case steps.ChooseCondition(feature, values):
            value = None if lower in UNKNOWN_WORDS else pick(text, values)
            known = value is not None or lower in UNKNOWN_WORDS
            return Record(facts.ConditionNamed(feature, value)) if known else None
        case steps.TakeOneBack(numbers=numbers):
            chosen = number_in(lower, len(numbers))
            if chosen and not numbers[chosen - 1]:
                return Remark(wording.COMPLAINT_ITSELF)
            return Record(facts.TakenBack(numbers[chosen - 1])) if chosen else None
        case steps.DangerScreen(checks):
            lower = "1" if len(checks) == 1 and lower in YES else lower
            return _several(walk, checks, lower, units, NO | NONE)
        case steps.ReadPanel(checks=checks):
            return _panel(walk, checks, text)
        case steps.LookRound(checks) | steps.ProofRound(checks=checks):
            return _several(walk, checks, lower, units, YES | OK, stops=isinstance(step, steps.LookRound))
        case steps.MakeCheck(check=check) | steps.ProveRepair(check=check):
            return _result(walk.knowledge.checks[check], text, units)
        case _:
            return ending_reply(walk, step, text)


def _service(walk: Walk, text: str, services: Sequence[str]) -> Reply | None:
    """What was done: one service, several, or not known; a danger that was named comes first.

    What the car does, told in the same sentence, is kept for the next question.
    """
    knowledge, meant = walk.knowledge, find_services(walk.knowledge, text, services)
    named = meant.said or not meant.sure  # else by its number or id
    danger = find_complaints(knowledge, text, knowledge.complaints).danger
    only_work = tells_of_work(text)
    if danger - meant.said and not only_work:
        return Words(text)
    trouble = trouble_said(knowledge, text) if named and not only_work else ""
    if trouble:
        meant = work_said(knowledge, text, asked=True)
    if not trouble and (meant.unknown or text.lower() in UNKNOWN_WORDS):
        return Record(facts.ServiceNamed(None, unknown_to=walk.audience, words=text), wording.SERVICE_UNKNOWN)
    if meant.sure:
        first, *also = meant.services
        echo = services_noted(knowledge, meant.services) if also or trouble else ""
        return Record(facts.ServiceNamed(first, tuple(also)), echo, rest=trouble)
    if trouble:
        return Words(text)
    if meant.services:
        near = ", ".join(f"{services.index(s) + 1} {knowledge.services[s].plain}" for s in meant.services)
        return Remark(f"'{text[:40]}' could be {near}. Type the number, or several (1 6).")
    picked = pick(text, services)
    return Record(facts.ServiceNamed(picked)) if picked else None


def services_noted(knowledge: KnowledgeBase, services: Sequence[str]) -> str:
    """What is said once services were taken from somebody's words."""
    return wording.SERVICES.format(names=" + ".join(knowledge.services[name].plain for name in services))


def _complaint(walk: Walk, text: str, complaints: Sequence[str], found: Sequence[str]) -> Reply:
    """Those listed by their numbers, or by id, "3 gone" for one that has passed; none; else words to be looked for."""
    tokens = [part for part in re.split(r"[ ,]+", text.lower()) if part not in ("", "and", "now")]
    passed = tokens[-1:] == ["gone"] and len(tokens) > 1
    tokens = tokens[:-1] if passed else tokens
    picked = [pick(token, found) if token.isdecimal() else token for token in tokens]
    if not picked or not all(name in complaints for name in picked):
        picked = [pick(text, found) if found else None]
    other = open_complaint(walk.knowledge, complaints)
    if text.lower() in NO | NONE and not found:
        return Remark(wording.NO_COMPLAINT)
    if picked == [None] and text.lower() in NONE_OF_THESE | UNKNOWN_WORDS:
        picked = [other]
    named = [name for name in picked if name and (name != other or len(picked) == 1)]
    if not named:
        return Words(text)
    main, *also = main_first(walk.knowledge, named)
    echo = f"Noted: {walk.knowledge.complaints[main].name.lower()}." if main == other else ""
    return Record(facts.ComplaintNamed(main, also=tuple(also)), echo, passed=passed)


def pick(text: str, choices: Sequence[str]) -> str | None:
    """The choice meant by its number from 1, its id, the start of its id, or its id with letters slipped."""
    text = text.lower().removeprefix("line ")
    if text.isdecimal():
        number = number_in(text, len(choices))
        return choices[number - 1] if number else None
    lower = text.replace(" ", "-")
    starts = [choice for choice in choices if choice.startswith(lower)]
    if lower in choices or len(starts) == 1:
        return lower if lower in choices else starts[0]
    return next(iter(nearest(lower, choices, likeness=0.85)), None)


def _result(check: Check, text: str, units: str) -> Reply | None:
    lower = text.lower()
    if lower in UNKNOWN_WORDS:
        return _answers({check.id: None})
    if set(check.results) == {"no", "yes"} and lower in YES | NO:
        return _answers({check.id: "yes" if lower in YES else "no"})
    if check.reading is not None and begins_a_number(text):
        return _reading(check, check.reading, text, units)
    if check.reading is not None and lower in NO_READING:
        return _answers({check.id: None}, {check.id: "no reading"}, "No reading: noted as not known.")
    if check.reading is not None and lower in OVER | UNDER:  # a finding: the outermost band at that end
        bands, end = check.reading.bands, "over range" if lower in OVER else "under range"
        highest, lowest = max(bands, key=lambda name: bands[name][1]), min(bands, key=lambda name: bands[name][0])
        result = highest if lower in OVER else lowest
        return _answers({check.id: result}, {check.id: end}, f"{end}: {check.results[result]}")
    picked = pick(text, check.names) or pick({"yes": "y", "no": "n"}.get(lower, text), check.names)
    return _answers({check.id: picked}) if picked else None


def _reading(check: Check, reading: Reading, text: str, units: str) -> Reply:
    american = american_unit(check) if units != "metric" and without_unit(text) else ""
    if american:
        line = wording.WHICH_LINE.format(number=text) if pick(text, check.names) else ""
        return Remark(wording.WHICH_UNIT.format(number=text, american=american, own=reading.unit) + line)
    try:
        question, banded = asked_back(check, text), band(check, text)
    except BadReading as error:
        return Remark(str(error))
    also = converted(banded.value, reading.unit, units, is_difference(check))
    shown = f"{banded}{f' ({also})' if also and also not in str(banded) else ''}"
    record = _answers({check.id: banded.result}, {check.id: str(banded)}, f"{shown}: {check.results[banded.result]}")
    if question:
        return Doubt(record, question)
    low, high = reading.possible
    margin = EDGE * (high - low)
    at_edge = not low + margin <= banded.value <= high - margin
    if at_edge and banded.result != check.expected:
        return Doubt(record, wording.REALLY.format(reading=shown, low=f"{low:g}", high=f"{high:g}", unit=reading.unit))
    return record


def converted(value: float, unit: str, units: str = "both", difference: bool = False) -> str:
    """The value in the other usual unit, as `5.1 psi` for 35 kPa; empty if there is none."""
    tables = [OTHER_UNIT[units]] if units in OTHER_UNIT else list(OTHER_UNIT.values())
    other = next((table[unit] for table in tables if unit in table), None)
    return f"{read_number(f'{value} {unit}', other, difference):.3g} {other}" if other else ""


def _answers(results: Mapping[str, str | None], readings: Mapping[str, str] | None = None, echo: str = "") -> Record:
    """What records these results of checks."""
    return Record(facts.Answered(results, readings or {}), echo)


def _several(
    walk: Walk, checks: Sequence[str], lower: str, units: str, clean: Collection[str], stops: bool = False
) -> Reply | None:
    """A word that all is `clean`, or by number what is not or was read; `stops`: nothing after the last was looked at.

    What only a running engine shows is not known of one in the bay that does not start.
    """
    entries = [walk.knowledge.checks[check] for check in checks]
    dead = walk.audience is Audience.BAY and walk.view.dead
    normal = {entry.id: None if dead and entry.runs_engine else entry.expected for entry in entries}
    if lower in clean:
        return _answers(normal)
    if lower in NO:
        return Remark("Which one is not right? Type its number, with its letter where there are several.")
    named = _named(walk, checks, lower, units)
    if not isinstance(named, tuple):
        return named
    results, readings, question = named
    fine = {entry.id: {None, normal[entry.id], *entry.harmless} for entry in entries}
    wrong = any(result not in fine[check] for check, result in results.items())
    looked = checks[: max(checks.index(check) for check in results) + 1] if stops and wrong else checks
    record = _answers({check: results.get(check, normal[check]) for check in looked}, readings)
    return Doubt(record, question) if question else record


def _named(
    walk: Walk, checks: Sequence[str], lower: str, units: str
) -> tuple[dict[str, str | None], dict[str, str], str] | Remark | None:
    """The results typed by number and letter, `?` for what cannot be told, `2=720` for a reading; those readings, and
    what to ask before they are taken. None if it is nothing like it.
    """
    results, readings, questions = dict[str, str | None](), dict[str, str](), list[str]()
    for token in lower.replace(",", " ").split():
        typed = re.fullmatch(r"(\d+)(?:=(\S+)|([a-g]?)(\??))", token)
        number = number_in(typed[1], len(checks)) if typed else None
        if not typed or number is None:
            return None
        check = walk.knowledge.checks[checks[number - 1]]
        wrong = dict(lettered(check))
        letter = typed[3] or ("a" if len(wrong) == 1 else "")
        if typed[2]:
            reply = _result(check, typed[2], units)
            questions += [reply.text] if isinstance(reply, Doubt) else []
            match reply.record if isinstance(reply, Doubt) else reply:
                case Record(facts.Answered(read, said)):
                    results |= read
                    readings |= said
                case _:
                    return Remark(reply.text) if isinstance(reply, Remark) else None
        elif not typed[4] and letter not in wrong:
            listed = ", ".join(f"{number}{one} {check.results[name]}" for one, name in wrong.items())
            return Remark(f"Which of them? Type {number} with a letter: {listed}.")
        else:
            results[check.id] = None if typed[4] else wrong[letter]
    return (results, readings, questions[0] if questions else "") if results else None


def _panel(walk: Walk, checks: Sequence[str], text: str) -> Reply | None:
    """Trouble codes (each sets the result it stands for), `check:result`, `n`, or `d`."""
    lower, entries = text.lower(), walk.knowledge.checks
    results: dict[str, str | None] = {check: entries[check].expected for check in checks}
    said: dict[str, str] = {}
    tokens, rest = text.replace(",", " ").split(), []
    for token in tokens:
        check, _, result = token.lower().partition(":")
        if check in checks and result in entries[check].results:
            said[check] = max(said.get(check, result), result, key=entries[check].names.index)
        else:
            rest.append(token)
    codes: Sequence[str] = ()
    if rest and lower not in NO | NONE | {"no codes"}:
        try:
            typed = code_list(text if rest == tokens else " ".join(rest))
        except BadReading as error:
            return Remark(str(error))
        if typed is None:
            return None
        codes = typed
    all_codes = (*codes_before(walk), *codes)
    results |= {check: r for check, r in family_results(walk.knowledge, all_codes).items() if check in checks}
    results |= {c: max(str(results[c]), result, key=entries[c].names.index) for c, result in said.items()}
    strange = (no_family(walk.knowledge, code) for code in without_family(walk.knowledge, codes))
    echo = " ".join(text for text in (families_noted(walk.knowledge, results), *strange) if text)
    return Record(facts.Answered(results, codes=tuple(codes)), echo)


def codes_before(walk: Walk) -> list[str]:
    """Codes typed since the last repair: they need not be typed again, and one more may make it several cylinders."""
    since = walk.case.repairs[-1].number if walk.case.repairs else 0
    told = (facts.fact_of(event) for event in standing(walk.events) if event.number > since)
    return [code for fact in told if isinstance(fact, facts.Answered | facts.Noted) for code in fact.codes]


def families_noted(knowledge: KnowledgeBase, results: Mapping[str, str | None]) -> str:
    """What typed codes mean, in words; empty if nothing is stored."""
    told = [(knowledge.checks[name], result) for name, result in results.items()]
    found = [f"{c.name}: {c.results[result]}" for c, result in told if result is not None and result != c.expected]
    return f"Noted: {'; '.join(found)}." if found else ""
