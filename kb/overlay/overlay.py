"""A shop's own files beside the shipped ones: entries of their own, and single numbers and words revised.

    revise:
      causes.duct-loose.frequency: {value: 7.2, was: 6, evidence: 31 cars in 4100 services, source: own-cases}
      causes.duct-loose.shows.idle-speed.low: {value: 15, ...}
      complaints.rough-idle.words: {add: [shakes like a tractor]}
      checks.duct-fit.point: {value: Behind the filter box, was: Between filter box and throttle}

The shipped files are never edited. Every revision keeps its place and what it stands in for, a number
also its evidence: `KnowledgeBase.revisions` for numbers, `KnowledgeBase.changes` for words. What warns less
than before says why, or is a problem.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from copy import deepcopy
from dataclasses import dataclass, field, replace
from pathlib import Path as FilePath
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from comeback.kb.overlay import revised_numbers as numbers
from comeback.kb.overlay import revised_words as words
from comeback.kb.overlay.revised_numbers import HOW, REVISABLE, Entries, NotRevisable, RevisedPlace
from comeback.kb.overlay.revised_words import dotted, number_lines, words_lines
from comeback.kb.overlay.weakening import weaker
from comeback.kb.problems import Problem
from comeback.kb.revision import Change, Revision
from comeback.kb.schema import Settings
from comeback.kb.wording import field_message, suggest
from comeback.kb.yaml.reader import Document

SECTION = "revise"
_WRITE = "This has the fields {}. Write them below it:\nrevise:\n{}"
Kind = TypeVar("Kind", bound=BaseModel)


@dataclass
class Revisable:
    """Knowledge while it is read: entries and their documents by section and id, what was revised, and the problems.

    `remarks`: problems that only the knowledge check reports. `milder`: changes that warn less and say why,
    by (place, what and why).
    """

    entries: Entries
    places: dict[tuple[str, str], Document] = field(default_factory=dict)
    scale: dict[str, float] = field(default_factory=dict)
    settings: Settings | None = None
    revisions: dict[str, Revision] = field(default_factory=dict)
    changes: dict[str, Change] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    remarks: list[Problem] = field(default_factory=list)
    milder: list[tuple[str, str]] = field(default_factory=list)


@dataclass(frozen=True)
class _Line:
    """One path below `revise:`, what it names, and what is written for it."""

    document: Document
    path: str
    place: RevisedPlace
    made: Revision | Change

    def problem(self, message: str, rule: str = SECTION, field: str | None = None) -> Problem:
        """A problem at the path, or at one field below it."""
        if field is None:
            return self.document.key_problem((SECTION, self.path), rule, message)
        return self.document.problem((SECTION, self.path, field), rule, message)


def mark_places(document: Document) -> None:
    """Write file and line into each revision, so that they outlast the cache of parsed files."""
    body = document.data.get(SECTION)
    for path, raw in body.items() if isinstance(body, dict) else ():
        if isinstance(raw, dict):
            line, _ = document.keys.get((SECTION, path), (1, 1))
            raw["at"] = f"{FilePath(document.file).name}:{line}"


def revise(documents: Sequence[Document], done: Revisable) -> None:
    """Put every revision of the documents into the entries, or its problems into `done`."""
    gathered: dict[tuple[str, str], list[_Line]] = {}
    for document in documents:
        body = document.data.get(SECTION)
        if body is not None and not isinstance(body, dict):
            message = f"`{SECTION}:` holds paths, each with what it shall be. {HOW}"
            done.problems.append(document.problem((SECTION,), SECTION, message))
            continue
        for path, raw in (body or {}).items():
            with _reported(document, path, done):
                _gather(document, path, raw, gathered, done)
    for lines in gathered.values():
        _change(lines, done)


@contextmanager
def _reported(document: Document, path: str, done: Revisable) -> Iterator[None]:
    """What is not revisable becomes a problem at the revision's own place."""
    try:
        yield
    except NotRevisable as error:
        done.problems.append(document.key_problem((SECTION, path), SECTION, str(error)))


def _split(path: str, raw: Any, done: Revisable) -> tuple[str, str, tuple[str, ...]]:
    """Section, id and the keys below. Raises NotRevisable naming what is not there."""
    section, _, rest = path.partition(".")
    name, *keys = rest.split(".")
    if section == "settings":
        if (section, name) not in REVISABLE:
            known = [name for held, name in REVISABLE if held == section]
            raise NotRevisable(f"Unknown setting '{name}'.{suggest(name, known)}")
        return section, "", (name, *keys)
    if section not in done.entries:
        raise NotRevisable(f"Unknown section '{section}'.{suggest(section, done.entries)} {HOW}")
    if not rest:
        raise NotRevisable(f"Write the path in one line, with points: {dotted(path, raw)}. {HOW}")
    if name not in done.entries[section]:
        raise NotRevisable(f"'{name}' is not in {section}.{suggest(name, done.entries[section])}")
    if not keys:
        wanted = dotted(path, raw)
        wanted = f"{path}.FIELD" if wanted == path else wanted
        raise NotRevisable(f"Name one field of '{name}', in one line with points: {wanted}.")
    return section, name, tuple(keys)


def _gather(
    document: Document, path: str, raw: Any, gathered: dict[tuple[str, str], list[_Line]], done: Revisable
) -> None:
    """Read one line and put it beside the others of its entry. Raises NotRevisable."""
    section, name, keys = _split(path, raw, done)
    entry = _entry(section, name, done)
    number = (section, keys[0]) in REVISABLE
    find = numbers.find_number if number else words.find_words
    place = find(section, name, keys, done.entries)
    if not isinstance(raw, dict):
        if number:
            lines = number_lines(place.path, raw, numbers.current_number(place, entry, done.entries))
        else:
            lines = words_lines(place, raw, words.written_at(done.places[section, name].data[section][name], place))
        fields = "value, was, evidence and source" if number else "value and was, or add and drop"
        raise NotRevisable(_WRITE.format(fields, "\n".join(lines)))
    if number and isinstance(raw.get("value"), bool):
        raise NotRevisable("value: true and false are no numbers.")
    kind: type[Revision | Change] = Revision if number else Change
    made = _validated(kind, document, path, raw, done)
    for other in gathered.get((section, name), ()):
        both = {*other.made.model_fields_set, *(made.model_fields_set if made else ())}
        if made is not None and other.place.keys == place.keys and "value" in both:
            raise NotRevisable(f"'{place.path}' is already revised at {other.made.at}. Keep one.")
    if made is not None:
        gathered.setdefault((section, name), []).append(_Line(document, path, place, made))


def _entry(section: str, name: str, done: Revisable) -> Any:
    return done.settings if section == "settings" else done.entries[section][name]


def _change(lines: Sequence[_Line], done: Revisable) -> None:
    """All changes of one entry together: what two fields must agree on may change in two lines."""
    section, name = lines[0].place.section, lines[0].place.id
    before = _entry(section, name, done)
    raw = deepcopy(done.places[section, name].data[section][name]) if name else before.model_dump()
    made: list[_Line] = []
    for line in lines:
        with _reported(line.document, line.path, done):
            changed = _number if isinstance(line.made, Revision) else _words
            made.append(replace(line, made=changed(line, raw, before, done)))
    try:
        after = type(before).model_validate(raw | ({"id": name} if name else {}), context={"scale": done.scale})
    except ValidationError as error:
        for detail in error.errors(include_url=False) if made else ():
            nearest = _nearest(tuple(map(str, detail["loc"])), made)
            done.problems.append(nearest[0].problem(field_message(detail, type(before)), "field", "value"))
        return
    if section == "settings":
        done.settings = after
    else:
        done.entries[section][name] = after
    for line in made:
        _keep(line, done)
    for keys, what in weaker(before, after, done.entries["set_ups"]):
        for line in _nearest(keys, made):
            reason = line.made.reason if isinstance(line.made, Change) else None
            if reason is not None:
                done.milder.append((line.made.at, f"{line.path} {what}: {reason}"))
                continue
            message = (
                f"This {what}. Nothing may warn less silently: if it is meant, write why below it, as "
                "`reason: ...`; else take it out."
            )
            done.problems.append(line.problem(message, "milder"))


def _number(line: _Line, raw: dict[str, Any], before: Any, done: Revisable) -> Revision:
    """The revision with its numbers, which is written into the entry's plain data. Raises NotRevisable."""
    place, made = line.place, line.made
    assert isinstance(made, Revision)
    base = numbers.current_number(place, before, done.entries)
    value = numbers.number_given(made.value, place.unit, done.scale)
    was = None if made.was is None else numbers.number_given(made.was, place.unit, done.scale, "was")
    if was is not None and abs(was - base) > 1e-6 * max(1.0, abs(base)):
        message = f"The number was {was:g} when this was written and is {base:g} now. Look at it again."
        done.remarks.append(line.problem(message, field="was"))
    if place.keys[0] == "shows" and not isinstance(held := raw["shows"].get(place.keys[1], {}), dict):
        raw["shows"][place.keys[1]] = {done.entries["checks"][place.keys[1]].names[1]: held}
    words.write_words(raw, place, value)
    return made.model_copy(update={"value": value, "was": was, "base": base})


def _words(line: _Line, raw: dict[str, Any], _before: Any, done: Revisable) -> Change:
    """The change with the words before and after, which are written into the entry's plain data."""
    place, made = line.place, line.made
    assert isinstance(made, Change)
    base = words.written_at(raw, place)
    now, remarks = words.changed(place, made, base)
    words.write_words(raw, place, now)
    done.remarks += [line.problem(text, field="was") for text in remarks]
    return made.model_copy(update={"base": base, "now": now})


def _keep(line: _Line, done: Revisable) -> None:
    """Note what was revised; from now on problems of this part of the entry are reported where it was revised."""
    place, path = line.place, line.place.path
    if place.id:
        entry, at = (place.section, place.id), line.document.keys.get((SECTION, line.path), (1, 1))
        done.places[entry] = done.places[entry].revised_at((*entry, *place.keys), line.document.file, at)
    if isinstance(line.made, Revision):
        done.revisions[path] = line.made
        return
    while path in done.changes:  # two files may add to the same list
        path += " (more)"
    done.changes[path] = line.made


def _nearest(keys: tuple[str, ...], made: Sequence[_Line]) -> list[_Line]:
    """The lines of the first place that begins `keys`, or that `keys` begin; of the last place if there is none."""
    places = [line.place.keys for line in made]
    fits = (held for held in places if held[: len(keys)] == keys or keys[: len(held)] == held)
    at = next(fits, places[-1] if places else ())
    return [line for line in made if line.place.keys == at]


def _validated(kind: type[Kind], document: Document, path: str, raw: dict[str, Any], done: Revisable) -> Kind | None:
    """What is written below the path. Raises NotRevisable if its source is not there."""
    try:
        made = kind.model_validate(raw)
    except ValidationError as error:
        found = set()
        for detail in error.errors(include_url=False):  # a number that may be a word has an error for each
            where = (SECTION, path, *(part for part in detail["loc"] if part in raw))
            found.add(document.problem(where, "field", field_message(detail, kind)))
        done.problems += sorted(found)
        return None
    source, known = getattr(made, "source", None), done.entries["sources"]
    if source is not None and source not in known:
        raise NotRevisable(f"Unknown source '{source}'.{suggest(source, known)}")
    return made


def overlay_lines(revisions: Mapping[str, Revision], head: Sequence[str], sources: Sequence[str]) -> Iterator[str]:
    """Lines of an overlay file: comments, new sources, then one revision a line with its evidence."""
    yield from (f"# {line}".rstrip() for line in head)
    yield "sources:"
    yield from (f"  {line}" for line in sources)
    yield f"{SECTION}:"
    for path, made in revisions.items():
        value, was = (f"{held:g}" if isinstance(held, float | int) else held for held in (made.value, made.was))
        evidence = json.dumps(made.evidence, ensure_ascii=False)
        yield f"  {path}:"
        before = f", was: {was}" if was is not None else ""
        yield f"    {{value: {value}{before}, evidence: {evidence}, source: {made.source}}}"
