"""Find the service or services that somebody's words or numbers mean, or that nobody knows it."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from comeback.cli.numbers import number_in
from comeback.cli.words.search import LEAST_FIT, Index, index
from comeback.cli.words.speech import VAGUE, ideas, raw_words
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


@dataclass(frozen=True)
class Services:
    """`sure`: these were done; else they may be meant. `unknown`: it was said that nobody knows, or "a full service".

    `said`: the ideas by which they were found.
    """

    services: tuple[str, ...] = ()
    sure: bool = False
    unknown: bool = False
    said: frozenset[str] = frozenset()


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
    said = {name: _said(known, name, asked) for name in among}
    named = [n for n in among if said[n] and not any(said[n] < said[other] for other in among)]
    if named:
        alike = len({said[n] for n in named}) < len(named)
        return Services(tuple(named), not alike, said=frozenset[str]().union(*(said[n] for n in named)))
    return _nearest(known, asked, among)


def tells_of_work(text: str) -> bool:
    """True if the words name fuel and nothing that went wrong, as an answer to what was done: "something with fuel"."""
    return not {*ideas(raw_words(text))} - _WORK - _VAGUE - _FUEL_WORK


def _said(known: Index, name: str, asked: frozenset[str]) -> frozenset[str]:
    """The ideas of the service's phrases that were said in full."""
    full = (phrase - _WORK for phrase in known.phrases[name])
    return frozenset[str]().union(*(phrase for phrase in full if phrase <= asked))


def _nearest(known: Index, asked: frozenset[str], among: Sequence[str]) -> Services:
    """By the best fitting phrases, if no name was said in full."""
    scores = {name: known.fit(asked, name).score for name in among}
    near = sorted((n for n in among if scores[n] >= LEAST_FIT), key=lambda n: -scores[n])
    clear = len(near) == 1 or (len(near) > 1 and scores[near[0]] - scores[near[1]] >= CLEAR)
    if not near:
        return Services()
    fitting = known.fit(asked, near[0]).phrase & asked
    return Services(tuple(near[:1] if clear else near[:3]), clear, said=fitting)
