"""Folder of knowledge files -> `KnowledgeBase`, or every problem at once with its place.

Three passes: read each file, validate each entry, resolve each reference between entries. A pass goes on after a
problem so that one run shows them all.
"""

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path as FilePath
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from comeback.kb.cache import read_cache, write_cache
from comeback.kb.knowledge_folders import ReadFolder, files_left_out, knowledge_files, read_folders_of, read_regular
from comeback.kb.overlay import overlay
from comeback.kb.overlay.revised_words import lines_instead
from comeback.kb.problems import KnowledgeError, Problem
from comeback.kb.references import broken_references
from comeback.kb.schema import KnowledgeBase, Settings
from comeback.kb.vocabulary import Disposition
from comeback.kb.wording import field_message, suggest
from comeback.kb.yaml.reader import MAX_CHARACTERS, Document, read_yaml

MOST_BYTES = 4 * MAX_CHARACTERS
"""Of one file; a character of UTF-8 has up to four."""
SECTIONS: Mapping[str, type[BaseModel]] = {
    name: kind
    for name, field in KnowledgeBase.model_fields.items()
    for kind in get_args(field.annotation)[1:]
    if field.is_required() and issubclass(kind, BaseModel)
}
"""Section of a file -> type of its entries: the mappings of `KnowledgeBase`."""


@dataclass
class LoadState(overlay.Revisable):
    """What the passes gather, with the folders that were read. `overlaid`: the files of the overlays."""

    entries: dict[str, dict[str, Any]] = field(default_factory=lambda: {name: {} for name in SECTIONS})
    folders: tuple[ReadFolder, ...] = ()
    overlaid: frozenset[str] = frozenset()


def shipped_folder() -> FilePath:
    """The folder of knowledge files that comes with the program."""
    return FilePath(str(resources.files("comeback.kb"))) / "knowledge"


def load_knowledge(
    *folders: FilePath, overlays: Sequence[FilePath] = (), cache: FilePath | None = None
) -> KnowledgeBase:
    """Knowledge of all files in `folders` (the shipped folder if none is given), and of a shop's own `overlays`.

    With a `cache` folder, files that were read before without a problem are not parsed again.
    Raises KnowledgeError with every problem found; OSError if a file cannot be read.
    """
    texts = _texts(folders, overlays)
    for folder in overlays:  # one of which no file is read: the mistake would go unnoticed
        if (left_out := list(files_left_out([folder]))) and not any(knowledge_files([folder])):
            raise KnowledgeError(left_out)
    version = _content_hash(texts)
    kept = read_cache(cache, version) if cache is not None else None
    if kept is not None:
        knowledge = _gathered([Document("cache", data, {}, {}) for data in kept], LoadState(), version)
        if knowledge is not None:
            return knowledge
    state = _new_state(folders, overlays)
    documents = list(_documents(texts, state))
    knowledge = _gathered(documents, state, version)
    if knowledge is None:
        raise KnowledgeError(state.problems)
    if cache is not None:
        write_cache(cache, version, [document.data for document in documents])
    return knowledge


def gather(*folders: FilePath, overlays: Sequence[FilePath] = ()) -> tuple[KnowledgeBase | None, LoadState]:
    """The knowledge (None if there is any problem) and what the passes gathered, places of entries included."""
    texts, state = _texts(folders, overlays), _new_state(folders, overlays)
    state.remarks += files_left_out([*folders, *overlays])
    return _gathered(list(_documents(texts, state)), state, _content_hash(texts)), state


def _texts(folders: Sequence[FilePath], overlays: Sequence[FilePath]) -> list[tuple[str, bytes]]:
    files = knowledge_files([*(folders or (shipped_folder(),)), *overlays])
    return [(str(file), read_regular(file, MOST_BYTES)) for file in files]


def _new_state(folders: Sequence[FilePath], overlays: Sequence[FilePath]) -> LoadState:
    read = read_folders_of(folders or (shipped_folder(),), overlays)
    return LoadState(folders=read, overlaid=frozenset(map(str, knowledge_files(overlays))))


def _gathered(documents: list[Document], state: LoadState, version: str) -> KnowledgeBase | None:
    """Validate the documents' entries and the references between them; those of the cache by the same rules."""
    _read_scale(documents, state)
    for document in documents:
        _read_entries(document, state)
    whole = any({"settings", "scale"} & set(document.data) for document in documents)
    if documents and not whole and all(problem.rule != "yaml" for problem in state.problems):
        folder = state.folders[0].folder if state.folders else FilePath(documents[0].file).parent
        message = (
            "No settings and no scale here: this looks like an overlay, a shop's own files beside the shipped ones. "
            f"Give it with --overlay: comeback check --overlay {folder}"
        )
        state.problems = [Problem(str(folder), 1, 1, "overlay", message)]
    if not state.problems:
        overlay.revise(documents, state)
    if not state.problems:
        state.problems += broken_references(state.entries, state.places)
    if state.settings is None and not state.problems:
        place = documents[0].file if documents else "knowledge"
        state.problems.append(Problem(place, 1, 1, "settings", "No file has a `settings:` section. Add it."))
    return None if state.problems else _assemble(state, version)


def _content_hash(texts: Iterable[tuple[str, bytes]]) -> str:
    """Knowledge version: first 12 hex digits of SHA-256 over the files' contents, whatever their folder."""
    digest = hashlib.sha256()
    for name, content in sorted(texts, key=lambda pair: (FilePath(pair[0]).name, pair[1])):
        digest.update(FilePath(name).name.encode() + b"\0" + hashlib.sha256(content).digest())
    return digest.hexdigest()[:12]


def _documents(texts: Sequence[tuple[str, bytes]], state: LoadState) -> Iterator[Document]:
    if not texts:
        message = "No knowledge file (*.yaml) here. Check the folder."
        state.problems.append(Problem(str(state.folders[0].folder), 1, 1, "file", message))
    for name, content in texts:
        try:
            document = read_yaml(content.decode("utf-8-sig"), name)
        except KnowledgeError as error:
            state.problems += error.problems
            continue
        except UnicodeDecodeError:
            state.problems.append(Problem(name, 1, 1, "yaml", "The file is not UTF-8 text. Save it as UTF-8."))
            continue
        if isinstance(document.data, dict):
            overlay.mark_places(document)
            yield document
        elif document.data is not None:
            message = "A file is a mapping of sections, as `causes:`. Write a section name above the entries."
            state.problems.append(document.problem((), "file", message))


def _read_scale(documents: Iterable[Document], state: LoadState) -> None:
    """The scale first: percentages of all other files may use its words."""
    for document in documents:
        words = document.data.get("scale")
        for word, percent in words.items() if isinstance(words, dict) else ():
            if isinstance(percent, int | float) and not isinstance(percent, bool) and 0 <= percent <= 100:
                state.scale[word] = float(percent)
            else:
                message = f"The scale gives '{word}' the value {percent!r}. Write a percentage from 0 to 100."
                state.problems.append(document.problem(("scale", word), "scale", message))


def _read_entries(document: Document, state: LoadState) -> None:
    for section, body in document.data.items():
        if section in ("scale", overlay.SECTION):
            continue
        if section == "settings":
            made = _validated(document, (section,), Settings, body, state)
            state.settings = made if isinstance(made, Settings) else state.settings
        elif section not in SECTIONS:
            hint = suggest(section, [*SECTIONS, "scale", "settings", overlay.SECTION])
            message = f"Unknown section '{section}'.{hint}"
            state.problems.append(document.key_problem((section,), "section", message))
        elif isinstance(body, dict):
            for name, raw in body.items():
                _read_entry(document, (section, name), raw, state)
        elif body is not None:
            message = f"`{section}:` maps ids to entries. Write one id per entry below it."
            state.problems.append(document.problem((section,), "section", message))


def _read_entry(document: Document, path: tuple[str, str], raw: Any, state: LoadState) -> None:
    section, name = path
    if not isinstance(raw, dict):
        message = f"'{name}' has no fields. Write its fields below it, indented."
        state.problems.append(document.key_problem(path, "entry", message))
    elif name in state.entries[section]:
        state.problems.append(document.key_problem(path, "twice", _twice(document, path, raw, state)))
    else:
        made = _validated(document, path, SECTIONS[section], {"id": name, **raw}, state)
        if made is not None:
            state.entries[section][name] = made
        state.places[path] = document


def _twice(document: Document, path: tuple[str, str], raw: Mapping[str, Any], state: LoadState) -> str:
    """In an overlay the entry was most likely meant to be corrected: say how."""
    (section, name), first = path, state.places[path]
    message = f"{section} '{name}' was already given at {first.file}:{first.keys[path][0]}."
    if document.file not in state.overlaid or first.file in state.overlaid:
        return f"{message} Rename one."
    instead = lines_instead(section, name, raw, first.data[section][name], state.entries)
    if instead:
        return f"{message} To change it, write instead (all of a file below one `revise:`):\n{instead}"
    known = SECTIONS[section].model_fields
    wrong = next((f"Unknown field '{key}'.{suggest(key, known)}" for key in raw if key not in known), None)
    return f"{message} {wrong or 'It says the same there: delete it here.'}"


def _validated(
    document: Document, path: tuple[str, ...], kind: type[BaseModel], raw: Any, state: LoadState
) -> BaseModel | None:
    try:
        return kind.model_validate(raw, context={"scale": state.scale})
    except ValidationError as error:
        for detail in error.errors(include_url=False):
            whole = detail["type"] == "missing" or detail["loc"] in ((), ("id",))
            located = document.key_problem if whole else document.problem
            place = path if whole else (*path, *detail["loc"])
            state.problems.append(located(place, "field", field_message(detail, kind)))
        return None


def _assemble(state: LoadState, version: str) -> KnowledgeBase:
    dispositions = {Disposition.of(word): advice for word, advice in state.entries["dispositions"].items()}
    entries: dict[str, Any] = {**state.entries, "dispositions": dict(sorted(dispositions.items()))}
    return KnowledgeBase.model_construct(
        version=version,
        scale=state.scale,
        settings=state.settings,
        revisions=state.revisions,
        changes=state.changes,
        **entries,
    )
