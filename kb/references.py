"""Resolve the ids by which entries name each other; every broken one is a `Problem`."""

from collections.abc import Iterator, Mapping
from typing import Any

from comeback.kb.problems import Problem
from comeback.kb.schema import Cause, Check, Complaint, Repair, Service
from comeback.kb.vocabulary import Disposition
from comeback.kb.wording import suggest
from comeback.kb.yaml.reader import Document, Path

Entries = Mapping[str, Mapping[str, Any]]
Places = Mapping[tuple[str, str], Document]
Sections = tuple[str, ...]
Wrong = tuple[Path, str, str, str]
"""Place below an entry, the word that is wrong there, the rule it breaks, the message."""
_FIELDS: Mapping[Sections, str] = {
    ("sources",): "source",
    ("cautions",): "cautions",
    ("set_ups",): "set_up ends",
    ("services",): "service services not_after",
    ("checks",): "handover red_flags reports shows needs check despite",
    ("checks", "panels"): "opening once_gone",
    ("panels",): "panel",
    ("causes",): "removes",
    ("repairs",): "renews repair",
    ("procedures",): "procedures",
}
"""Sections -> fields with their ids: one id, a list of them, or the keys of a mapping."""
_POINTS_INTO = {name: sections for sections, names in _FIELDS.items() for name in names.split()}


def broken_references(entries: Entries, places: Places) -> list[Problem]:
    """Problems of all references in `entries`; `places` says which file each entry is in."""
    out = _dispositions(entries["dispositions"], places)
    known = {
        sections: dict.fromkeys(name for one in sections for name in entries[one]) for sections in _POINTS_INTO.values()
    }
    for section, body in entries.items():
        for name, entry in body.items():
            document = places[section, name]
            for path, word, rule, message in _wrong(entry, entries, known):
                located = document.key_problem if path[-1] == word else document.problem
                out.append(located((section, name, *path), rule, message))
    return out


def _wrong(entry: Any, entries: Entries, known: Mapping[Sections, Mapping[str, None]]) -> Iterator[Wrong]:
    for path, word, sections in _ids(entry):
        if word not in known[sections]:
            hint = suggest(word, known[sections])
            yield path, word, "reference", f"'{word}' is not in {' or '.join(sections)}.{hint}"
    checks = entries["checks"]
    for path, check, word in _results(entry):
        if check in checks and word not in checks[check].results:
            hint = suggest(word, checks[check].results)
            yield path, word, "result", f"Check '{check}' has no result '{word}'.{hint}"
    for path, chances in _chances(entry):
        total = sum(chances.values())
        if total > 1 + 1e-9:
            yield path, "", "chance", f"The chances add up to {100 * total:g} %. Together they may not pass 100."
    service = entries["services"].get(entry.service or "") if isinstance(entry, Cause) else None
    if service and entry.step not in (None, *service.steps):
        message = f"Service '{service.id}' has no step '{entry.step}'.{suggest(entry.step, service.steps)}"
        yield ("step",), "", "reference", message


def _ids(entry: Any, below: Path = ()) -> Iterator[tuple[Path, str, Sections]]:
    """Every id that `entry` names: its place, itself, the sections it may be in."""
    for field, value in vars(entry).items():
        sections = _POINTS_INTO.get(field)
        if sections and value:
            words = (value,) if isinstance(value, str) else value
            yield from ((path, word, sections) for path, word in _each(words, *below, field))
    if isinstance(entry, Service):
        for name, step in entry.steps.items():
            yield from _ids(step, ("steps", name))
    if isinstance(entry, Repair):
        yield from _ids(entry.proof, ("proof",))
    if isinstance(entry, Check):
        yield from _ids(entry.remedy, ("remedy",)) if entry.remedy else ()
        for result, signs in entry.follow_up.items():
            yield from ((path, sign, ("checks",)) for path, sign in _each(signs, "follow_up", result))


def _each(words: Any, *path: str | int) -> Iterator[tuple[Path, str]]:
    """Place and word of each part of a list, of each key of a mapping."""
    keys = isinstance(words, Mapping)
    return (((*path, word if keys else i), word) for i, word in enumerate(words))


def _results(entry: Any) -> Iterator[tuple[Path, str, str]]:
    """Every result that `entry` names: its place, the check, the result."""
    match entry:
        case Complaint():
            yield from ((("reports", check), check, word) for check, word in entry.reports.items())
        case Cause():
            yield from (((*path, word), str(path[1]), word) for path, chances in _chances(entry) for word in chances)
        case Repair():
            yield ("proof", "result"), entry.proof.check, entry.proof.result
        case Check():
            for check, needed in entry.needs.items():
                yield from ((path, check, word) for path, word in _each(needed, "needs", check))
            for field in ("otherwise", "red_flag", "codes", "follow_up", "before_driving", "stores_codes", "harmless",
                          "fire", "calm", "passed"):  # fmt: skip
                yield from ((path, entry.id, word) for path, word in _each(getattr(entry, field), field))
            for word in entry.reading.bands if entry.reading else ():
                yield ("reading", "bands", word), entry.id, word
            if entry.remedy:
                yield ("remedy", "result"), entry.id, entry.remedy.result


def _chances(entry: Any) -> Iterator[tuple[Path, Mapping[str, float]]]:
    """Chances by result, which may not pass 100 % together."""
    if isinstance(entry, Check):
        yield ("otherwise",), entry.otherwise
    if isinstance(entry, Cause):
        yield from ((("shows", check), by) for check, by in entry.shows.items() if isinstance(by, Mapping))


def _dispositions(worded: Mapping[str, Any], places: Places) -> list[Problem]:
    """Exactly the closed set must be worded: no more, no fewer."""
    known = [member.word for member in Disposition]
    out = [
        places["dispositions", word].key_problem(
            ("dispositions", word), "disposition", f"'{word}' is not a disposition.{suggest(word, known)}"
        )
        for word in worded
        if word not in known
    ]
    missing = sorted({*known} - {*worded})
    if missing and places:
        message = f"No words for: {', '.join(missing)}. Add them."
        out.append(Problem(next(iter(places.values())).file, 1, 1, "disposition", message))
    return out
