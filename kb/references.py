"""Resolve the ids by which entries name each other; every broken one is a `Problem`."""

from collections.abc import Iterator, Mapping
from typing import Any

from comeback.kb.problems import Problem
from comeback.kb.schema import Cause, Caution, Check, Complaint, Repair, Service
from comeback.kb.vocabulary import Disposition
from comeback.kb.wording import suggest
from comeback.kb.yaml.reader import Document, Path

Entries = Mapping[str, Mapping[str, Any]]
Places = Mapping[tuple[str, str], Document]
Link = tuple[Path, str, str]  # where below the entry, section it points into, id named


def broken_references(entries: Entries, places: Places) -> list[Problem]:
    """Problems of all references in `entries`; `places` says which file each entry stands in."""
    return [
        *_missing_links(entries, places),
        *_missing_openings(entries, places),
        *_wrong_results(entries, places),
        *_dispositions(entries, places),
    ]


def _missing_links(entries: Entries, places: Places) -> Iterator[Problem]:
    for section, body in entries.items():
        for name, entry in body.items():
            for path, target, word in _links(entry):
                if word not in entries[target]:
                    hint = suggest(word, entries[target])
                    message = f"There is no '{word}' in {target}.{hint}"
                    document = places[section, name]
                    yield document.key_problem((section, name, *path), "reference", message)


def _missing_openings(entries: Entries, places: Places) -> Iterator[Problem]:
    """Opening looks that are neither a check nor a panel."""
    known = {**entries["checks"], **entries["panels"]}
    for section in ("services", "complaints"):
        for name, entry in entries[section].items():
            for i, word in enumerate(entry.opening):
                if word not in known:
                    message = f"There is no '{word}' in checks or panels.{suggest(word, known)}"
                    yield places[section, name].key_problem((section, name, "opening", i), "reference", message)


def _links(entry: Any) -> Iterator[Link]:
    """Every id that `entry` names, with its place below the entry and the section it belongs to."""
    for field, target in (("source", "sources"), ("cautions", "cautions"), ("set_up", "set_ups"),
                          ("ends", "set_ups"), ("handover", "checks"), ("red_flags", "checks"),
                          ("services", "services"), ("not_after", "services"),
                          ("procedures", "procedures")):  # fmt: skip
        for i, word in enumerate(vars(entry).get(field, ())):  # getattr of a field that is not there is slow
            yield (field, i), target, word
    yield from _own_links(entry)


def _own_links(entry: Any) -> Iterator[Link]:
    match entry:
        case Service():
            for step, body in entry.steps.items():
                for field, target in (("cautions", "cautions"), ("renews", "repairs")):
                    yield from (
                        (("steps", step, field, i), target, word) for i, word in enumerate(getattr(body, field))
                    )
        case Complaint():
            yield from ((("reports", check), "checks", check) for check in entry.reports)
        case Cause():
            yield from ((("shows", check), "checks", check) for check in entry.shows)
            if entry.service is not None:
                yield ("service",), "services", entry.service
        case Check():
            if entry.panel is not None:
                yield ("panel",), "panels", entry.panel
            yield from ((("needs", check), "checks", check) for check in entry.needs)
            for result, signs in entry.follow_up.items():
                yield from ((("follow_up", result, i), "checks", sign) for i, sign in enumerate(signs))
        case Repair():
            yield from ((("removes", cause), "causes", cause) for cause in entry.removes)
            yield ("proof", "check"), "checks", entry.proof.check
        case Caution() | _:
            return


def _wrong_results(entries: Entries, places: Places) -> Iterator[Problem]:
    """Result ids, chances that sum above 1, steps that their service does not have."""
    checks: Mapping[str, Check] = entries["checks"]
    for section, body in entries.items():
        for name, entry in body.items():
            document = places[section, name]
            for path, check, word in _result_words(entry):
                if check in checks and word not in checks[check].results:
                    hint = suggest(word, checks[check].results)
                    message = f"Check '{check}' has no result '{word}'.{hint}"
                    yield document.key_problem((section, name, *path), "result", message)
            for path, total in _totals(entry):
                if total > 1 + 1e-9:
                    message = f"The chances add up to {100 * total:g} %. Together they may not pass 100."
                    yield document.problem((section, name, *path), "chance", message)
    yield from _wrong_steps(entries, places)


def _result_words(entry: Any) -> Iterator[tuple[Path, str, str]]:
    match entry:
        case Complaint():
            yield from ((("reports", check), check, word) for check, word in entry.reports.items())
        case Cause():
            for check, chances in entry.shows.items():
                if isinstance(chances, Mapping):
                    yield from ((("shows", check, word), check, word) for word in chances)
        case Repair():
            yield ("proof", "result"), entry.proof.check, entry.proof.result
        case Check():
            bands = entry.reading.bands if entry.reading else {}
            for check, needed in entry.needs.items():
                yield from ((("needs", check, i), check, word) for i, word in enumerate(needed))
            for field, words in (("otherwise", entry.otherwise), ("red_flag", entry.red_flag),
                                 ("codes", entry.codes), ("follow_up", entry.follow_up),
                                 ("before_driving", entry.before_driving)):  # fmt: skip
                yield from (((field, word), entry.id, word) for word in words)
            yield from ((("reading", "bands", word), entry.id, word) for word in bands)
            yield from ((("stores_codes", i), entry.id, word) for i, word in enumerate(entry.stores_codes))
            yield from ((("harmless", i), entry.id, word) for i, word in enumerate(entry.harmless))


def _totals(entry: Any) -> Iterator[tuple[Path, float]]:
    if isinstance(entry, Check):
        yield ("otherwise",), sum(entry.otherwise.values())
    if isinstance(entry, Cause):
        for check, chances in entry.shows.items():
            if isinstance(chances, Mapping):
                yield ("shows", check), sum(chances.values())


def _wrong_steps(entries: Entries, places: Places) -> Iterator[Problem]:
    for name, cause in entries["causes"].items():
        service = entries["services"].get(cause.service)
        if service is not None and cause.step is not None and cause.step not in service.steps:
            hint = suggest(cause.step, service.steps)
            message = f"Service '{service.id}' has no step '{cause.step}'.{hint}"
            yield places["causes", name].problem(("causes", name, "step"), "reference", message)


def _dispositions(entries: Entries, places: Places) -> Iterator[Problem]:
    """Exactly the closed set must be worded: no more, no fewer."""
    known = {member.word for member in Disposition}
    for word in entries["dispositions"]:
        if word not in known:
            place = places["dispositions", word]
            message = f"'{word}' is not a disposition.{suggest(word, known)}"
            yield place.key_problem(("dispositions", word), "disposition", message)
    missing = known - set(entries["dispositions"])
    if missing and places:
        first = next(iter(places.values()))
        yield Problem(first.file, 1, 1, "disposition", f"No words for: {', '.join(sorted(missing))}. Add them.")
