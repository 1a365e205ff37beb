"""Rules for work that ruins an engine if one word of the instruction is missing."""

import re
from collections.abc import Iterator

from comeback.kb.rules.words import Broken, steps_of
from comeback.kb.schema import KnowledgeBase

_TURNED = re.compile(r"\b(?:turn|rotate) the (?:crankshaft|crank pulley|engine|piston)\b", re.I)
DIRECTION = "running direction"
"""What names the way to turn an engine."""
_OILED_SEAL = re.compile(r"\b(?:oil|grease)\w*\b[^.;]*\bseals?\b|\bseals?\b[^.;]*\b(?:oil|grease)\w*\b", re.I)
_INJECTOR = re.compile(r"\binjector", re.I)


def turned_without_direction(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """An engine is turned by hand only the way it runs: backwards the timing drive can go slack and skip a tooth."""
    for path, text in steps_of(knowledge):
        found = _TURNED.search(text)
        if found and DIRECTION not in text:
            yield path, f"'{found[0]}' names no direction. Write 'in its {DIRECTION}'."


def injector_seal_oiled(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """At an injector only O-rings are oiled; the tip seal of a direct injector goes in dry, or it blows."""
    texts: dict[tuple[str, ...], str] = {}
    for path, text in steps_of(knowledge):
        entry = tuple(str(part) for part in path[:2])
        texts[entry] = f"{texts.get(entry, '')} {text}"
    for path, text in steps_of(knowledge):
        found = _OILED_SEAL.search(text)
        if found and _INJECTOR.search(texts[tuple(str(part) for part in path[:2])]):
            yield (
                path,
                f"'{found[0]}': at an injector only O-rings are oiled, a tip seal goes in dry. Say which is which.",
            )
