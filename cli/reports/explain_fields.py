"""One field of an explanation, and the fields that several kinds of entry share."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

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


def named(label: str, names: Iterable[str], entries: Mapping[str, Any]) -> Field:
    """Other entries: their names and ids."""
    return Field(label, [f"{getattr(entries[name], 'name', name)} ({name})" for name in names])


NAMED = {
    "set_up": "set_ups", "ends": "set_ups", "procedures": "procedures", "red_flags": "checks", "services": "services",
    "handover": "checks",
}  # fmt: skip
"""Attributes that hold ids of other entries -> their section."""
SHOWN: Mapping[str, Callable[[KnowledgeBase, Any], Iterable[str]]] = {
    "only_if": lambda _, features: [
        "; ".join(f"{name}: {' or '.join(FEATURE_VALUES[kind] for kind in kinds)}" for name, kinds in features.items())
    ],
    "cautions": lambda known, names: [f"{known.cautions[c].word.value}: {known.cautions[c].text}" for c in names],
    "source": lambda known, names: [f"{known.sources[s].title} ({known.sources[s].status})" for s in names],
    "minutes": lambda _, value: [minutes(value)],
    "words": lambda _, words: ["; ".join(words)],
    "steps": lambda _, texts: [f"{number}. {step}" for number, step in enumerate(texts, 1)],
}
"""Attributes that are shown in a way of their own."""


def own(knowledge: KnowledgeBase, entry: Any, **labels: str) -> Iterator[Field]:
    """Fields that the entry states itself: `attribute=label`, each shown in the way of its attribute."""
    for attribute, label in labels.items():
        given = getattr(entry, attribute)
        if attribute in NAMED:
            yield named(label, given, getattr(knowledge, NAMED[attribute]))
        elif attribute in SHOWN:
            yield text(label, *SHOWN[attribute](knowledge, given))
        else:
            yield text(label, *((given,) if isinstance(given, str | None) else given))


def percent(chance: float) -> str:
    """`  45 %`, with one decimal below 1."""
    share = 100 * chance
    return f"{share:4.0f} %" if share >= 1 else f"{share:4.1f} %"


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
