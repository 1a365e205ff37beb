"""One field of an explanation, and the fields that several kinds of entry share."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from comeback.kb.fields import Condition
from comeback.kb.revision import Change
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.vocabulary import FEATURE_VALUES


@dataclass(frozen=True)
class Field:
    """`data` for programs under `key`, `lines` for people beside `label`; without lines it is left out."""

    key: str
    label: str
    data: Any
    lines: Sequence[str]


def text(key: str, label: str, value: str | None) -> Field:
    """One sentence or word."""
    return Field(key, label, value, [value] if value else [])


def texts(key: str, label: str, values: Iterable[str]) -> Field:
    """Several sentences, a line each."""
    values = list(values)
    return Field(key, label, values, values)


def numbered(key: str, label: str, values: Iterable[str]) -> Field:
    """Steps in their order."""
    values = list(values)
    return Field(key, label, values, [f"{number}. {value}" for number, value in enumerate(values, 1)])


def named(key: str, label: str, names: Iterable[str], entries: Mapping[str, Any]) -> Field:
    """Other entries: their ids, with their names for people."""
    names = list(names)
    return Field(key, label, names, [f"{getattr(entries[name], 'name', name)} ({name})" for name in names])


def percent(chance: float) -> str:
    """`  45 %`, with one decimal below 1."""
    share = 100 * chance
    return f"{share:4.0f} %" if share >= 1 else f"{share:4.1f} %"


def condition(only_if: Condition) -> Field:
    """On which cars it exists."""
    words = "; ".join(
        f"{feature}: {' or '.join(FEATURE_VALUES[k] for k in kinds)}" for feature, kinds in only_if.items()
    )
    return Field("only_if", "Only if", {f: list(kinds) for f, kinds in only_if.items()}, [words] if words else [])


def sources(knowledge: KnowledgeBase, names: Iterable[str]) -> Field:
    """Where it comes from, and how far that may be trusted."""
    known = [knowledge.sources[name] for name in names]
    data = [{"id": s.id, "title": s.title, "status": s.status} for s in known]
    return Field("sources", "Sources", data, [f"{s.title} ({s.status})" for s in known])


def revised(knowledge: KnowledgeBase, section: str, name: str) -> Field:
    """What a shop's own file gives instead: numbers with their evidence, words with what they stand in for."""
    start, rows, lines = f"{section}.{name}.", [], []
    for path, made in knowledge.revisions.items():
        if path.startswith(start):
            what = path.removeprefix(start)
            rows.append({"path": path, "value": made.value, "instead_of": made.base, "evidence": made.evidence,
                         "source": made.source, "at": made.at})  # fmt: skip
            lines.append(f"{what}: {made.value:g} instead of {made.base:g}. {made.evidence} ({made.at})")
    for path, change in knowledge.changes.items():
        if path.startswith(start):
            what, why = path.removeprefix(start), f". {change.reason}" if change.reason else ""
            rows.append({"path": path, "value": change.now, "instead_of": change.base, "reason": change.reason,
                         "source": change.source, "at": change.at})  # fmt: skip
            lines.append(f"{what}: {_difference(change)}{why} ({change.at})")
    return Field("revised", "Revised", rows, lines)


def _difference(change: Change) -> str:
    """`added ..., dropped ...` of a list, else what stands there instead of what."""
    if change.add or change.drop:
        parts = (("added", change.add), ("dropped", change.drop))
        return "; ".join(f"{what} {', '.join(map(str, given))}" for what, given in parts if given)
    return f"'{change.now}' instead of '{change.base or ''}'"


def cautions(knowledge: KnowledgeBase, names: Iterable[str]) -> Field:
    """Hazards, each with its signal word, the command first."""
    known = [knowledge.cautions[name] for name in names]
    data = [{"id": c.id, "word": c.word.value, "avoid": c.avoid, "hazard": c.hazard} for c in known]
    return Field("cautions", "Cautions", data, [f"{c.word.value}: {c.avoid} {c.hazard} {c.consequence}" for c in known])


def minutes(value: float) -> str:
    """`about 12 min` or `under 1 min`."""
    return f"about {value:g} min" if value >= 1 else "under 1 min"


def result_text(check: Check, result: str) -> str:
    """`Idle speed: Too fast`."""
    return f"{check.name}: {check.results[result]}"


def bearing(knowledge: KnowledgeBase, name: str, chance: float, more: str = "") -> str:
    """A cause with the share of its cars and how many of those there are: `45 % of 6 in 1000: Hose off`."""
    cause = knowledge.causes[name]
    after = f" after {cause.service}" if cause.service else ""
    return f"{percent(chance)} of {cause.frequency:g} in 1000{after}: {cause.name} ({name}{'; ' if more else ''}{more})"
