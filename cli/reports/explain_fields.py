"""One field of an explanation, and the fields that several kinds of entry share."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from comeback.kb.fields import Condition
from comeback.kb.revision import Change
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.vocabulary import FEATURE_VALUES

MOST = 20
"""Causes listed; the rest are counted."""


class Field(NamedTuple):
    """`lines` beside a `label`; without lines it is left out."""

    label: str
    lines: Sequence[str]


def text(label: str, *values: str | None) -> Field:
    """Sentences or words, a line each; those that are empty are left out."""
    return Field(label, [value for value in values if value])


def numbered(label: str, values: Iterable[str]) -> Field:
    """Steps in their order."""
    return Field(label, [f"{number}. {value}" for number, value in enumerate(values, 1)])


def named(label: str, names: Iterable[str], entries: Mapping[str, Any]) -> Field:
    """Other entries: their names and ids."""
    return Field(label, [f"{getattr(entries[name], 'name', name)} ({name})" for name in names])


def percent(chance: float) -> str:
    """`  45 %`, with one decimal below 1."""
    share = 100 * chance
    return f"{share:4.0f} %" if share >= 1 else f"{share:4.1f} %"


def condition(only_if: Condition) -> Field:
    """On which cars it exists."""
    kinds = (f"{feature}: {' or '.join(FEATURE_VALUES[k] for k in kinds)}" for feature, kinds in only_if.items())
    return text("Only if", "; ".join(kinds))


def sources(knowledge: KnowledgeBase, names: Iterable[str]) -> Field:
    """Where it comes from, and how far that may be trusted."""
    known = [knowledge.sources[name] for name in names]
    return Field("Sources", [f"{source.title} ({source.status})" for source in known])


def revised(knowledge: KnowledgeBase, section: str, name: str) -> Field:
    """What a shop's own file gives instead: numbers with their evidence, words with what they replace."""
    start, lines = f"{section}.{name}.", []
    for path, made in knowledge.revisions.items():
        if path.startswith(start):
            field = path.removeprefix(start)
            lines.append(f"{field}: {made.value:g} instead of {made.base:g}. {made.evidence} ({made.at})")
    for path, change in knowledge.changes.items():
        if path.startswith(start):
            why = f". {change.reason}" if change.reason else ""
            lines.append(f"{path.removeprefix(start)}: {_difference(change)}{why} ({change.at})")
    return Field("Revised", lines)


def _difference(change: Change) -> str:
    """`added ..., dropped ...` of a list, else what is there now instead of what."""
    if change.add or change.drop:
        parts = (("added", change.add), ("dropped", change.drop))
        return "; ".join(f"{what} {', '.join(map(str, given))}" for what, given in parts if given)
    return f"'{change.now}' instead of '{change.base or ''}'"


def cautions(knowledge: KnowledgeBase, names: Iterable[str]) -> Field:
    """Hazards, each with its signal word, the command first."""
    known = [knowledge.cautions[name] for name in names]
    return Field("Cautions", [f"{c.word.value}: {c.text}" for c in known])


def minutes(value: float) -> str:
    """`about 12 min` or `under 1 min`."""
    return f"about {value:g} min" if value >= 1 else "under 1 min"


def result_text(check: Check, result: str) -> str:
    """`Idle speed: Too fast`."""
    return f"{check.name}: {check.results[result]}"


def causes(knowledge: KnowledgeBase, label: str, found: Iterable[tuple[str, float, str]]) -> Field:
    """Causes from (id, share of its cars, what more to say), those of the most cars first.

    `45 % of 6 in 1000: Hose off (hose-off)`; frequencies are of 1000 cars or services.
    """
    rows = sorted(found, key=lambda row: (-row[1] * knowledge.causes[row[0]].frequency, row[0]))
    lines = []
    for name, chance, more in rows[:MOST]:
        cause = knowledge.causes[name]
        after = f" after {cause.service}" if cause.service else ""
        what = f"{cause.name} ({'; '.join(filter(None, (name, more)))})"
        lines.append(f"{percent(chance)} of {cause.frequency:g} in 1000{after}: {what}")
    return Field(label, lines + [f"and {len(rows) - MOST} more, in fewer cars"] * (len(rows) > MOST))
