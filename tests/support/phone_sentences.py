"""Sentences as customers say them on the phone, and what the search for a complaint makes of them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from comeback.cli.words.passed import parts_said
from comeback.cli.words.search import open_complaint
from comeback.cli.words.search_services import find_services
from comeback.cli.words.sentence import find_parts
from comeback.engine.case import facts
from comeback.engine.walk.walk import open_walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

PHONE_SENTENCES = Path(__file__).resolve().parents[1] / "data" / "phone_sentences.yaml"
READ_OUT = 3
"""So many of the complaints that are listed the service writer reads before the caller loses patience."""


@dataclass(frozen=True)
class Heard:
    """One sentence: the complaints it means (one group for each thing said), its danger, and what was listed."""

    said: str
    meant: tuple[frozenset[str], ...]
    danger: frozenset[str]
    chance: str
    listed: tuple[str, ...]
    named: frozenset[str]
    held_out: bool

    @property
    def first(self) -> bool:
        """True if the complaint listed first is one that was meant."""
        return any(self.listed[:1] and self.listed[0] in group for group in self.meant)

    @property
    def read_out(self) -> bool:
        """True if all that was said is among the first that are listed."""
        return all(group & {*self.listed[:READ_OUT]} for group in self.meant)

    @property
    def hidden(self) -> bool:
        """True if a danger was said and no complaint that asks about it is among the first."""
        return bool(self.danger) and not self.danger & {*self.listed[:READ_OUT]}

    @property
    def invented(self) -> bool:
        """True if a danger to people is named though none was said."""
        return bool(self.chance and self.named)


def hear(knowledge: KnowledgeBase) -> list[Heard]:
    """Every sentence of the file, said in a call after its service."""
    table = yaml.safe_load(PHONE_SENTENCES.read_text(encoding="utf-8"))
    return [_heard(knowledge, table, number, one) for number, one in enumerate(table["sentences"], 1)]


def _heard(knowledge: KnowledgeBase, table: Mapping[str, Any], number: int, one: Mapping[str, Any]) -> Heard:
    among = _complaints_after(knowledge, one["after"])
    found = find_parts(knowledge, parts_said(one["said"]), among)
    groups = (frozenset(table["complaints"][meaning]) for meaning in one["means"])
    danger = table["dangers"][one["danger"]] if "danger" in one else ()
    return Heard(
        one["said"],
        tuple(group for group in groups if group),
        frozenset(danger),
        one.get("chance", ""),
        tuple(name for name in found.near if name != open_complaint(knowledge, among)),
        found.danger,
        held_out=number % 3 == 0,
    )


def _complaints_after(knowledge: KnowledgeBase, service: str) -> Sequence[str]:
    walk = open_walk(knowledge, Audience.PHONE, car="gasoline")
    named = find_services(knowledge, service, tuple(knowledge.services)).services
    walk = walk.imagine(facts.ServiceNamed(service=named[0]))
    return walk.step.complaints
