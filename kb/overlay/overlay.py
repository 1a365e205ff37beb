"""A shop's own files beside the shipped ones: entries of their own, and single numbers and words revised.

    revise:
      causes.duct-loose.frequency: {value: 7.2, was: 6, evidence: 31 cars in 4100 services, source: own-cases}
      causes.duct-loose.shows.idle-speed.low: {value: 15, ...}
      complaints.rough-idle.words: {add: [shakes like a tractor]}
      checks.duct-fit.point: {value: Behind the filter box, was: Between filter box and throttle}

The shipped files are never edited. Every revision keeps its place and what it stands in for, a number
also its evidence: `KnowledgeBase.revisions` for numbers, `Revised.changes` for words. What warns less
than before says why, or is a problem.
"""

from collections.abc import Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from comeback.kb.overlay import revised_numbers as numbers
from comeback.kb.overlay import revised_words as words
from comeback.kb.overlay.overlaid import overlaid
from comeback.kb.overlay.revised_numbers import HOW, Entries, NotRevisable, NumberPlace
from comeback.kb.overlay.revised_words import WordsPlace
from comeback.kb.overlay.revising_help import dotted, number_lines, words_lines
from comeback.kb.overlay.weakening import weaker
from comeback.kb.problems import Problem
from comeback.kb.revision import Change, Revision
from comeback.kb.schema import Settings
from comeback.kb.wording import field_message, suggest
from comeback.kb.yaml.reader import Document, Path

SECTION = "revise"
Kind = TypeVar("Kind", bound=BaseModel)
Places = dict[tuple[str, str], Document]


@dataclass
class Revised:
    """Result of all revisions. `remarks` are problems that only the knowledge check reports;
    `milder`: changes that warn less and say why, by (place, what and why)."""

    settings: Settings | None
    entries: Entries
    places: Places
    scale: Mapping[str, float]
    revisions: dict[str, Revision] = field(default_factory=dict)
    changes: dict[str, Change] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    remarks: list[Problem] = field(default_factory=list)
    milder: list[tuple[str, str]] = field(default_factory=list)
    numbers: list[tuple[NumberPlace, Document, str]] = field(default_factory=list)
    words: dict[tuple[str, str], list[tuple[WordsPlace, Change, Document, str]]] = field(default_factory=dict)


def mark_places(document: Document) -> None:
    """Write file and line into each revision, so that they outlast the cache of parsed files."""
    body = document.data.get(SECTION)
    for path, raw in body.items() if isinstance(body, dict) else ():
        if isinstance(raw, dict):
            line, _ = document.keys.get((SECTION, path), (1, 1))
            raw["at"] = f"{FilePath(document.file).name}:{line}"


def revise(
    documents: Sequence[Document], entries: Entries, places: Places, settings: Settings | None,
    scale: Mapping[str, float],
) -> Revised:  # fmt: skip
    """Put every revision of the documents into the entries; problems come back as values.

    Words first, since an entry whose words change is made anew; then numbers.
    """
    done = Revised(settings, entries, places, scale)
    later: list[tuple[Document, str, Any, str, str, tuple[str, ...]]] = []
    for document in documents:
        body = document.data.get(SECTION)
        if body is not None and not isinstance(body, dict):
            message = f"`{SECTION}:` holds paths, each with what it shall be. {HOW}"
            done.problems.append(document.problem((SECTION,), "revise", message))
            continue
        for path, raw in (body or {}).items():
            with _ReportedAtRevision(document, path, done):
                section, name, keys = split(path, raw, done)
                if section == "settings" or words.is_number(section, keys):
                    later.append((document, path, raw, section, name, keys))
                else:
                    _gather_words(document, path, raw, words_at(section, name, keys, done), done)
    for place in done.words:
        _change_words(place, done)
    for document, path, raw, section, name, keys in later:
        with _ReportedAtRevision(document, path, done):
            _revise_number(document, path, raw, numbers.find_number(section, name, keys, entries), done)
    _refuse_totals(done)
    return done


class _ReportedAtRevision:
    """What is not revisable becomes a problem at the revision's own place."""

    def __init__(self, document: Document, path: str, done: Revised) -> None:
        self.document, self.path, self.done = document, path, done

    def __enter__(self) -> None:
        return None

    def __exit__(self, kind: object, error: object, trace: object) -> bool:
        if isinstance(error, NotRevisable):
            self.done.problems.append(self.document.key_problem((SECTION, self.path), "revise", str(error)))
        return isinstance(error, NotRevisable)


def split(path: str, raw: Any, done: Revised) -> tuple[str, str, tuple[str, ...]]:
    """Section, id and the keys below. Raises NotRevisable naming what is not there."""
    section, _, rest = path.partition(".")
    if section == "settings":
        keys = tuple(rest.split("."))
        if ("settings", keys[0]) not in numbers.REVISABLE:
            known = [name for held, name in numbers.REVISABLE if held == "settings"]
            raise NotRevisable(f"There is no setting '{keys[0]}'.{suggest(keys[0], known)}")
        return section, "", keys
    if section not in done.entries:
        raise NotRevisable(f"There is no section '{section}'.{suggest(section, done.entries)} {HOW}")
    name, *keys_below = rest.split(".")
    if not rest:
        raise NotRevisable(f"Write the path in one line, with points: {dotted(path, raw)}. {HOW}")
    if name not in done.entries[section]:
        raise NotRevisable(f"There is no '{name}' in {section}.{suggest(name, done.entries[section])}")
    if not keys_below:
        wanted = dotted(path, raw) if isinstance(raw, dict) and raw else path
        wanted = f"{path}.FIELD" if wanted == path else wanted
        raise NotRevisable(f"Name one field of '{name}', in one line with points: {wanted}.")
    return section, name, tuple(keys_below)


def words_at(section: str, name: str, keys: tuple[str, ...], done: Revised) -> WordsPlace:
    """The words that a path names. Raises NotRevisable."""
    return words.find_words(section, name, keys, done.entries[section][name])


def _gather_words(document: Document, path: str, raw: Any, place: WordsPlace, done: Revised) -> None:
    if not isinstance(raw, dict):
        base = words.written_at(done.places[place.section, place.id].data[place.section][place.id], place)
        raise NotRevisable(_write_below("value and was, or add and drop", words_lines(place, raw, base)))
    change = _validated(Change, document, path, raw, done)
    if change is None:
        return
    _known_source(change.source, done)
    gathered = done.words.setdefault((place.section, place.id), [])
    for other, known, _, _ in gathered:
        if other.keys == place.keys and "value" in known.model_fields_set | change.model_fields_set:
            raise NotRevisable(f"'{place.path}' is already revised at {known.at}. Keep one.")
    gathered.append((place, change, document, path))


def _known_source(source: str | None, done: Revised) -> None:
    if source is not None and source not in done.entries["sources"]:
        raise NotRevisable(f"There is no source '{source}'.{suggest(source, done.entries['sources'])}")


def _change_words(entry: tuple[str, str], done: Revised) -> None:
    """All changes of one entry together: what two fields must agree on may change in two lines."""
    section, name = entry
    before, raw = done.entries[section][name], deepcopy(done.places[entry].data[section][name])
    made: list[tuple[WordsPlace, Change, Document, str]] = []
    for place, change, document, path in done.words[entry]:
        with _ReportedAtRevision(document, path, done):
            base = words.written_at(raw, place)
            now, remarks = words.changed(place, change, base)
            words.write_words(raw, place, now)
            made.append((place, change.model_copy(update={"base": base, "now": now}), document, path))
            done.remarks += [document.problem((SECTION, path, "was"), "revise", text) for text in remarks]
    after, wrong = words.validated(type(before), name, raw, done.scale)
    for keys, message in wrong if made else ():
        at = words.nearest_place(keys, [place for place, *_ in made])
        _, _, document, path = next(one for one in made if one[0] is at)
        done.problems.append(document.problem((SECTION, path, "value"), "field", message))
    if after is None:
        return
    done.entries[section][name] = after
    _overlay(entry, [((section, name, *place.keys), document, path) for place, _, document, path in made], done)
    for place, change, _, _ in made:
        done.changes[_free(place.path, done.changes)] = change
    _judge(before, after, made, done)


def _free(path: str, changes: Mapping[str, Change]) -> str:
    """Two files may add to the same list; the second gets a number."""
    return path if path not in changes else _free(f"{path} (more)", changes)


def _judge(before: Any, after: Any, made: Sequence[tuple[WordsPlace, Change, Document, str]], done: Revised) -> None:
    """What warns less is a problem at each change that it comes from, unless that says why."""
    for keys, what in weaker(before, after, done.entries["set_ups"]):
        at = words.nearest_place(keys, [place for place, *_ in made])
        for place, change, document, path in made:
            if at is None or place.keys != at.keys:
                continue
            if change.reason is None:
                message = (
                    f"This {what}. Nothing may warn less silently: if it is meant, write why below it, as "
                    "`reason: ...`; else take it out."
                )
                done.problems.append(document.key_problem((SECTION, path), "milder", message))
            else:
                done.milder.append((change.at, f"{path} {what}: {change.reason}"))


def _overlay(entry: tuple[str, str], parts: Sequence[tuple[Path, Document, str]], done: Revised) -> None:
    """From now on problems of these parts of the entry are reported where they were revised."""
    places = {part: (doc.file, doc.keys.get((SECTION, path), (1, 1))) for part, doc, path in parts}
    done.places[entry] = overlaid(done.places[entry], places)


def _revise_number(document: Document, path: str, raw: Any, number: NumberPlace, done: Revised) -> None:
    if not isinstance(raw, dict):
        lines = number_lines(number.path, raw, numbers.current_number(number, done.entries, done.settings))
        raise NotRevisable(_write_below("value, was, evidence and source", lines))
    if isinstance(raw.get("value"), bool):
        raise NotRevisable("value: true and false are no numbers.")
    revision = _validated(Revision, document, path, raw, done)
    if revision is None:
        return
    if number.path in done.revisions:
        raise NotRevisable(f"'{number.path}' is already revised at {done.revisions[number.path].at}. Keep one.")
    value = numbers.number_given(revision.value, number.unit, done.scale)
    _known_source(revision.source, done)
    base = numbers.current_number(number, done.entries, done.settings)
    was = None if revision.was is None else numbers.number_given(revision.was, number.unit, done.scale, "was")
    if was is not None and abs(was - base) > 1e-6 * max(1.0, abs(base)):
        message = f"The number was {was:g} when this was written and is {base:g} now. Look at it again."
        done.remarks.append(document.problem((SECTION, path, "was"), "revise", message))
    if number.section == "settings":
        assert done.settings is not None
        done.settings = done.settings.model_copy(update={number.field: value})
    else:
        numbers.write_number(number, value, done.entries)
        _overlay((number.section, number.id), [(number.keys, document, path)], done)
    done.numbers.append((number, document, path))
    done.revisions[number.path] = revision.model_copy(update={"value": value, "was": was, "base": base})


def _refuse_totals(done: Revised) -> None:
    for number, document, path in done.numbers:
        total = numbers.total(number, done.entries)
        if total > 1 + 1e-9:
            message = f"The chances then add up to {100 * total:g} %. Together they may not pass 100."
            done.problems.append(document.problem((SECTION, path), "chance", message))


def _write_below(fields: str, lines: Sequence[str]) -> str:
    return f"This has the fields {fields}. Write them below it:\n" + "\n".join([f"{SECTION}:", *lines])


def _validated(kind: type[Kind], document: Document, path: str, raw: dict[str, Any], done: Revised) -> Kind | None:
    try:
        return kind.model_validate(raw)
    except ValidationError as error:
        found = set()
        for detail in error.errors(include_url=False):  # a number that may be a word has an error for each
            where = (SECTION, path, *(part for part in detail["loc"] if part in raw))
            found.add(document.problem(where, "field", field_message(detail, kind)))
        done.problems += sorted(found)
        return None


def overlay_lines(revisions: Mapping[str, Revision], head: Sequence[str], sources: Sequence[str]) -> Iterator[str]:
    """Lines of an overlay file: comments, new sources, then one revision a line with its evidence."""
    yield from (f"# {line}".rstrip() for line in head)
    yield "sources:"
    yield from (f"  {line}" for line in sources)
    yield f"{SECTION}:"
    for path, made in revisions.items():
        was = f", was: {_number(made.was)}" if made.was is not None else ""
        value = _number(made.value)
        yield f"  {path}:"
        yield f'    {{value: {value}{was}, evidence: "{_quoted(made.evidence)}", source: {made.source}}}'


def _number(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:g}"


def _quoted(text: str) -> str:
    return text.replace("\\", "\\\\").replace('"', '\\"')
