"""Cautions of repair cards by letter: all of them in full once, then a few words of each where its card stands."""

from collections.abc import Iterable, Mapping, Sequence

from comeback.diagrams.paper.hazards import WORDS, Hazard, beside, gravest_first, hazard
from comeback.diagrams.paper.measure import FRAME, WARNING_WIDTH
from comeback.kb.schema import Caution, KnowledgeBase

LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
"""Without i, l, o, 0 and 1, which look alike."""


def lettered(knowledge: KnowledgeBase, names: Iterable[str]) -> dict[str, str]:
    """A small letter for each caution, gravest first; small, since capitals mark where a line goes on."""
    return {name: _letter(number) for number, name in enumerate(gravest_first(knowledge, names))}


def _letter(number: int) -> str:
    """One character each, so that they can stand close together; none that is taken for another."""
    return LETTERS[number] if number < len(LETTERS) else f"({number + 1})"


def reminders_of(knowledge: KnowledgeBase, letters: Mapping[str, str]) -> tuple[Hazard, ...]:
    """The warnings of a page in a few words each with their letters, those of a signal word in one, across the page."""
    out = []
    for word in WORDS:
        told = [name for name in letters if knowledge.cautions[name].word is word]
        text = " ".join(reminder(knowledge.cautions[name], letters[name]) for name in told)
        if told:
            out.append(Hazard("", word, "", beside(word, text, WARNING_WIDTH[0])))
    return tuple(out)


def reminder(caution: Caution, letter: str) -> str:
    """A few words of a caution that was told in full before."""
    return f"{letter}: {(caution.reminder or caution.avoid).rstrip('.')}."


def reminders_height(reminders: Sequence[Hazard]) -> float:
    """Height of the frame of reminders with the gap below it."""
    return sum(one.height for one in reminders) + FRAME if reminders else 0.0


def all_hazards(knowledge: KnowledgeBase, letters: Mapping[str, str]) -> tuple[Hazard, ...]:
    """These warnings in full, with their letters."""
    return tuple(hazard(knowledge, name, letter, WARNING_WIDTH[1]) for name, letter in letters.items())
