"""A shop's own files beside the shipped ones: entries of their own, and single numbers revised.

    revise:
      causes.duct-loose.frequency: {value: 7.2, was: 6, evidence: 31 cars in 4100 services, source: own-cases}
      causes.duct-loose.shows.idle-speed.low: {value: 15, ...}

The shipped files are never edited. Every revision keeps its place, its evidence and the number it
stands in for in `KnowledgeBase.revisions`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any

from pydantic import BaseModel, ValidationError

from comeback.kb.problems import Problem
from comeback.kb.revision import Revision
from comeback.kb.schema import Settings
from comeback.kb.wording import plain_error, suggest
from comeback.kb.yaml_reader import Document

SECTION = "revise"
PER_THOUSAND, PERCENT, MINUTES, MONEY, RATE = "cars per 1000", "percent", "minutes", "money", "money per hour"
REVISABLE: Mapping[tuple[str, str], str] = {
    ("causes", "frequency"): PER_THOUSAND,
    ("causes", "shows"): PERCENT,
    ("checks", "otherwise"): PERCENT,
    ("checks", "minutes"): MINUTES,
    ("repairs", "removes"): PERCENT,
    ("repairs", "minutes"): MINUTES,
    ("repairs", "parts"): MONEY,
    ("set_ups", "minutes"): MINUTES,
    ("panels", "minutes"): MINUTES,
    ("settings", "rate_per_hour"): RATE,
    ("settings", "hand_over_minutes"): MINUTES,
}
"""(section, field) that a revision may name -> unit of its numbers."""
_LIMITS = {PER_THOUSAND: (0.0, 1000.0), PERCENT: (0.0, 100.0), MINUTES: (0.0, 2000.0), MONEY: (0.0, 1e9)}
_LIMITS[RATE] = (0.0, 1e9)
_NEVER_ZERO = (PER_THOUSAND, RATE)
HOW = "Write a path such as causes.ID.frequency, causes.ID.shows.CHECK.RESULT or repairs.ID.minutes."


class NotRevisable(Exception):
    """The path names no number; the message says what is wrong with it."""


@dataclass
class Revised:
    """What the revisions amount to. `remarks` are problems that only the knowledge check reports."""

    settings: Settings | None
    revisions: dict[str, Revision] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    remarks: list[Problem] = field(default_factory=list)
    numbers: list[tuple["Number", Document, str]] = field(default_factory=list)


@dataclass(frozen=True)
class Number:
    """A place in an entry that holds a number: section, id (empty for settings), field, names below it."""

    section: str
    id: str
    field: str
    below: tuple[str, ...]
    unit: str

    @property
    def path(self) -> str:
        """The path by which a revision names it."""
        return ".".join(part for part in (self.section, self.id, self.field, *self.below) if part)


Entries = dict[str, dict[str, Any]]


def mark_places(document: Document) -> None:
    """Write file and line into each revision, so that they outlast the cache of parsed files."""
    body = document.data.get(SECTION)
    for path, raw in body.items() if isinstance(body, dict) else ():
        if isinstance(raw, dict):
            line, _ = document.keys.get((SECTION, path), (1, 1))
            raw["at"] = f"{FilePath(document.file).name}:{line}"


def revise(
    documents: Sequence[Document], entries: Entries, settings: Settings | None, scale: Mapping[str, float]
) -> Revised:
    """Put every revision of the documents into the entries; problems come back as values."""
    done = Revised(settings)
    for document in documents:
        body = document.data.get(SECTION)
        if body is not None and not isinstance(body, dict):
            message = f"`{SECTION}:` maps paths of numbers to revisions. {HOW}"
            done.problems.append(document.problem((SECTION,), "revise", message))
            continue
        for path, raw in (body or {}).items():
            try:
                _revise_one(document, path, raw, entries, scale, done)
            except NotRevisable as error:
                done.problems.append(document.key_problem((SECTION, path), "revise", str(error)))
    for number, document, path in done.numbers:
        total = _total(number, entries)
        if total > 1 + 1e-9:
            message = f"The chances then add up to {100 * total:g} %. Together they may not pass 100."
            done.problems.append(document.problem((SECTION, path), "chance", message))
    return done


def _total(number: Number, entries: Entries) -> float:
    """Sum of the chances that stand beside a revised one and share its hundred percent."""
    if number.unit is not PERCENT or number.field == "removes":
        return 0.0
    return sum(_by_name(number, getattr(entries[number.section][number.id], number.field), entries).values())


def _revise_one(
    document: Document, path: str, raw: Any, entries: Entries, scale: Mapping[str, float], done: Revised
) -> None:
    revision = _validated(document, path, raw, done)
    if revision is None:
        return
    number = find_number(path, entries)
    if number.path in done.revisions:
        raise NotRevisable(f"'{number.path}' is already revised at {done.revisions[number.path].at}. Keep one.")
    value = _value(revision.value, number.unit, scale)
    if revision.source not in entries["sources"]:
        raise NotRevisable(f"There is no source '{revision.source}'.{suggest(revision.source, entries['sources'])}")
    base = read_number(number, entries, done.settings)
    if revision.was is not None and abs(revision.was - base) > 1e-6 * max(1.0, abs(base)):
        message = f"The number was {revision.was:g} when this was written and is {base:g} now. Look at it again."
        done.remarks.append(document.problem((SECTION, path, "was"), "revise", message))
    _write_number(number, value, entries, done)
    done.numbers.append((number, document, path))
    done.revisions[number.path] = revision.model_copy(update={"value": value, "base": base})


def _validated(document: Document, path: str, raw: Any, done: Revised) -> Revision | None:
    if not isinstance(raw, dict):
        raise NotRevisable("A revision has the fields value, evidence and source. Write them below it.")
    if isinstance(raw.get("value"), bool):
        raise NotRevisable("value: true and false are no numbers.")
    try:
        return Revision.model_validate(raw)
    except ValidationError as error:
        found = set()
        for detail in error.errors(include_url=False):  # a number that may be a word has an error for each
            where = (SECTION, path, *(part for part in detail["loc"] if part in raw))
            found.add(document.problem(where, "field", plain_error(detail, Revision)))
        done.problems += sorted(found)
        return None


def find_number(path: str, entries: Entries) -> Number:
    """The number that `path` names, spelt in full. Raises NotRevisable."""
    section, _, rest = path.partition(".")
    if section == "settings":
        parts = ["", *rest.split(".")]
    elif section in entries:
        parts = rest.split(".")
    else:
        raise NotRevisable(f"'{section}' has no numbers to revise. {HOW}")
    name, parts = parts[0], parts[1:]
    if section != "settings" and name not in entries[section]:
        raise NotRevisable(f"There is no '{name}' in {section}.{suggest(name, entries[section])}")
    unit = REVISABLE.get((section, parts[0])) if parts else None
    if unit is None:
        raise NotRevisable(f"'{path}' names no number that can be revised. {HOW}")
    number = Number(section, name, parts[0], tuple(parts[1:]), unit)
    if unit is not PERCENT:
        if number.below:
            raise NotRevisable(f"'{path}' names nothing below '{parts[0]}'. {HOW}")
        return number
    return _percent_place(number, entries)


def _percent_place(number: Number, entries: Entries) -> Number:
    entry, below = entries[number.section][number.id], number.below
    if number.field == "removes":
        if len(below) != 1 or below[0] not in entry.removes:
            raise NotRevisable(
                f"'{number.id}' removes no '{'.'.join(below)}'.{suggest('.'.join(below), entry.removes)}"
            )
        return number
    check = number.id
    if number.field == "shows":
        if not below or below[0] not in entry.shows:
            word = below[0] if below else ""
            raise NotRevisable(f"'{number.id}' does not show in '{word}'.{suggest(word, entry.shows)}")
        check, below = below[0], below[1:]
    known = entries["checks"].get(check)
    names = known.names[1:] if known is not None else ()
    below = below or names[:1]
    if len(below) != 1 or below[0] not in names:
        word = ".".join(below)
        raise NotRevisable(f"Check '{check}' has no abnormal result '{word}'.{suggest(word, names)}")
    place = (check, *below) if number.field == "shows" else below
    return Number(number.section, number.id, number.field, place, number.unit)


def _value(given: float | str, unit: str, scale: Mapping[str, float]) -> float:
    if isinstance(given, str):
        if unit is not PERCENT or given not in scale:
            words = f" or one of: {', '.join(scale)}" if unit is PERCENT else ""
            raise NotRevisable(f"value: '{given}' is no number. Write a number{words}.")
        given = scale[given]
    low, high = _LIMITS[unit]
    if not low <= given <= high or (unit in _NEVER_ZERO and given in (low, high)):
        raise NotRevisable(f"value: {given:g} is out of range. Write {unit} from {low:g} to {high:g}.")
    return given


def read_number(number: Number, entries: Entries, settings: Settings | None) -> float:
    """The number as it stands, in the unit of its field."""
    if number.section == "settings":
        return float(getattr(settings, number.field)) if settings is not None else 0.0
    held = getattr(entries[number.section][number.id], number.field)
    if number.unit is not PERCENT:
        return float(held)
    return round(100 * _by_name(number, held, entries).get(number.below[-1], 0.0), 9)


def _by_name(number: Number, held: Any, entries: Entries) -> dict[str, float]:
    if number.field != "shows":
        return dict(held)
    shown = held[number.below[0]]
    first = entries["checks"][number.below[0]].names[1]
    return {first: shown} if isinstance(shown, int | float) else dict(shown)


def _write_number(number: Number, value: float, entries: Entries, done: Revised) -> None:
    if number.section == "settings":
        assert done.settings is not None
        done.settings = done.settings.model_copy(update={number.field: value})
        return
    entry: BaseModel = entries[number.section][number.id]
    held = getattr(entry, number.field)
    new: Any = value
    if number.unit is PERCENT:
        new = {**_by_name(number, held, entries), number.below[-1]: value / 100}
        if number.field == "shows":
            new = {**held, number.below[0]: new}
    entries[number.section][number.id] = entry.model_copy(update={number.field: new})


def overlay_lines(revisions: Mapping[str, Revision], head: Sequence[str], sources: Sequence[str]) -> Iterator[str]:
    """Lines of an overlay file: comments, new sources, then one revision a line with its evidence."""
    yield from (f"# {line}".rstrip() for line in head)
    yield "sources:"
    yield from (f"  {line}" for line in sources)
    yield f"{SECTION}:"
    for path, made in revisions.items():
        was = f", was: {made.was:g}" if made.was is not None else ""
        value = made.value if isinstance(made.value, str) else f"{made.value:g}"
        yield f"  {path}:"
        yield f'    {{value: {value}{was}, evidence: "{_quoted(made.evidence)}", source: {made.source}}}'


def _quoted(text: str) -> str:
    return text.replace("\\", "\\\\").replace('"', '\\"')
