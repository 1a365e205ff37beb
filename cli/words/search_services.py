"""Find the services that words or numbers mean; and a service or complaint named on the command line."""

import argparse
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from comeback.cli.errors import UsageError
from comeback.cli.numbers import number_in
from comeback.cli.words.search import LEAST_FIT, Index, index
from comeback.cli.words.speech import VAGUE, ideas, raw_words
from comeback.kb.schema import KnowledgeBase

if TYPE_CHECKING:
    from comeback.kb.schema import KnowledgeBase

_WORK = frozenset({"change", "service", "new", "work", "job", "routin", "kit", "part", "both"})
"""Ideas that any service has; they tell none apart."""
_VAGUE = frozenset(ideas([*VAGUE, "not", "d"]))
"""What is left of "full service", "no idea", "the yearly one": nothing by which to know what was done."""
_FUEL_WORK = frozenset(ideas(["fuel", "system", "stuff", "done", "filter", "pump", "injector"]))
"""Ideas of work on the fuel system; with any other idea, as "everywhere", fuel is a danger."""
_NUMBERS = re.compile(r"\d+(?:(?:\s*[,;+&/]\s*|\s+and\s+|\s+)\d+)*")
CLEAR = 0.25
"""By so much the best must fit better than the next to be taken without asking."""
SLIP = 0.85
"""From so alike on an id was meant, its letters slipped."""
MOST_NAMED = 3
"""Entries that an answer names, when the words fit several."""


@dataclass(frozen=True)
class Services:
    """`sure`: these were done; else they may be meant. `unknown`: it was said that nobody knows, or "a full service".

    `said`: the ideas by which they were found.
    """

    services: tuple[str, ...] = ()
    sure: bool = False
    unknown: bool = False
    said: frozenset[str] = frozenset()
    exact: bool = False
    """A name of each was said in full."""


def find_services(knowledge: KnowledgeBase, text: str, among: Sequence[str]) -> Services:
    """The services that `text` means: numbers from 1 in `among`, ids, or words of their names."""
    typed = text.strip().lower()
    if _NUMBERS.fullmatch(typed):
        numbers = [number_in(number, len(among)) for number in re.findall(r"\d+", typed)]
        chosen = tuple(dict.fromkeys(among[number - 1] for number in numbers if number))
        return Services(chosen, sure=True) if all(numbers) else Services()
    if typed in among:
        return Services((typed,), sure=True)
    entries = {name: knowledge.services[name] for name in among}
    known = index(tuple((n, (e.name, e.plain, *e.words)) for n, e in entries.items()))
    asked = known.asked(text) - _WORK
    if asked <= _VAGUE:
        return Services(unknown=bool(asked or raw_words(text)))
    full = {name: [phrase - _WORK for phrase in known.phrases[name]] for name in among}
    said = {n: frozenset[str]().union(*(phrase for phrase in full[n] if phrase <= asked)) for n in among}
    named = [n for n in among if said[n] and not any(said[n] < said[other] for other in among)]
    if named:
        alike = len({said[n] for n in named}) < len(named)
        return Services(tuple(named), not alike, said=frozenset[str]().union(*(said[n] for n in named)), exact=True)
    return _nearest(known, asked, among)


def left_unsaid(text: str, said: frozenset[str]) -> frozenset[str]:
    """The ideas of `text` that neither name a service nor belong to any work: what else it may tell."""
    return frozenset(ideas(raw_words(text))) - said - _WORK - _VAGUE


def names_work(text: str) -> bool:
    """True if a word says that something was done: "the battery was replaced", not "the battery is dead"."""
    return not _WORK.isdisjoint(ideas(raw_words(text)))


def tells_of_work(text: str) -> bool:
    """True if the words name fuel and nothing that went wrong, as an answer to what was done: "something with fuel"."""
    return not {*ideas(raw_words(text))} - _WORK - _VAGUE - _FUEL_WORK


def _nearest(known: Index, asked: frozenset[str], among: Sequence[str]) -> Services:
    """By the best fitting phrases, if no name was said in full."""
    scores = {name: known.fit(asked, name).score for name in among}
    near = sorted((n for n in among if scores[n] >= LEAST_FIT), key=lambda n: -scores[n])
    clear = len(near) == 1 or (len(near) > 1 and scores[near[0]] - scores[near[1]] >= CLEAR)
    if not near:
        return Services()
    fitting = known.fit(asked, near[0]).phrase & asked
    return Services(tuple(near[:1] if clear else near[:3]), clear, said=fitting)


def take_names(given: argparse.Namespace, knowledge: "KnowledgeBase") -> None:
    """Words for `--service` and `--complaint` become their ids. Raises UsageError if they mean none."""
    if given.service is not None:
        given.service = service_named(knowledge, given.service)
    if given.complaint is not None:
        given.complaint = complaint_named(knowledge, given.complaint)


def service_named(knowledge: "KnowledgeBase", asked: str) -> str:
    """The id of the service meant. Raises UsageError naming those that fit, if not exactly one does."""

    fitting = find_services(knowledge, asked.replace("-", " "), list(knowledge.services)).services
    return _only("service", asked, fitting, {name: entry.name for name, entry in knowledge.services.items()})


def complaint_named(knowledge: "KnowledgeBase", asked: str) -> str:
    """The id of the complaint meant. Raises UsageError naming those that fit, if not exactly one does."""
    from comeback.cli.words.search import find_complaints

    fitting = find_complaints(knowledge, asked.replace("-", " "), knowledge.complaints).near
    return _only("complaint", asked, fitting, {name: entry.name for name, entry in knowledge.complaints.items()})


def _only(kind: str, asked: str, found: Sequence[str], names: Mapping[str, str]) -> str:
    from comeback.kb.nearest import nearest

    meant = [asked] if asked in names else nearest(asked.lower(), names, likeness=SLIP)
    if meant or len(found) == 1:
        return (meant or found)[0]
    if found:
        fitting = ", ".join(f"{name} ({names[name]})" for name in found[:MOST_NAMED])
        raise UsageError(f"'{asked}' matches more than one {kind}. Type one of: {fitting}.")
    known = f"Type one of: {', '.join(names)}." if len(names) <= 12 else f"List them: comeback explain --list {kind}"
    raise UsageError(f"There is no {kind} '{asked}'. {known}")
