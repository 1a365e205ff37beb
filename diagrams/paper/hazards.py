"""Hazards on paper: which cautions a step or card has, and the frame of warnings that stands at the top of a page.

A page warns once of everything that its steps need, gravest first, and says before which; each step
concerned bears the symbol. So the warning is read before the step. Several pages of repair cards remind of
warnings that were told in full before (`reminders`).
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from comeback.diagrams.paper import phrases
from comeback.diagrams.paper.captions import Captions
from comeback.diagrams.paper.lettering import fitted, height_of_columns, width_of
from comeback.diagrams.paper.measure import FRAME, SIGNAL_TYPE, TYPE, WARNING_PAD, WARNING_WIDTH, text_height
from comeback.engine.charts.growth import PaperStep
from comeback.engine.walk import steps
from comeback.kb.schema import Caution, KnowledgeBase
from comeback.kb.vocabulary import Audience, SignalWord

WORDS = list(SignalWord)


@dataclass(frozen=True)
class Hazard:
    """A caution on a page: its id, signal word, the steps or cards that it stands before, its text.

    The first of its `lines` stands beside the signal word.
    """

    caution: str
    word: SignalWord
    before: str
    lines: tuple[str, ...]

    @property
    def height(self) -> float:
        """Height of its cell in points."""
        return warning_height(len(self.lines))


def warning_height(lines: int) -> float:
    """Height of a warning of so many lines."""
    return text_height(1, SIGNAL_TYPE) + text_height(lines - 1) + WARNING_PAD


def columns(hazards: Sequence[Hazard]) -> tuple[Sequence[Hazard], ...]:
    """The warnings in two columns about as high, gravest first down the left one; one alone has the whole width."""
    _, left = height_of_columns([hazard.height for hazard in hazards])
    return (hazards[:left], hazards[left:]) if len(hazards) > 1 else (hazards,)


def hazards_height(hazards: Sequence[Hazard]) -> float:
    """Height of the frame of warnings with the gap below it."""
    return height_of_columns([hazard.height for hazard in hazards])[0] + FRAME if hazards else 0.0


def cautions(captions: Captions, step: PaperStep) -> tuple[str, ...]:
    """Cautions that stand before the step, each once; a caller handles nothing, so has none."""
    if captions.audience is Audience.PHONE:
        return ()
    return gravest_first(captions.knowledge, _cautions(captions.knowledge, step))


def gravest_first(knowledge: KnowledgeBase, names: Iterable[str]) -> tuple[str, ...]:
    """Each caution once, by signal word, then by id."""
    return tuple(sorted(set(names), key=lambda name: (WORDS.index(knowledge.cautions[name].word), name)))


def _cautions(knowledge: KnowledgeBase, step: PaperStep) -> Iterator[str]:
    match step:
        case steps.DangerScreen(names):
            for name in names:
                yield from knowledge.checks[name].cautions
        case steps.MakeCheck(check=check, set_up=needed):
            yield from of_check(knowledge, check, needed)
        case steps.ProveRepair(check=check):
            yield from of_check(knowledge, check, knowledge.checks[check].set_up)
        case steps.ReadPanel(checks=names, set_up=needed):
            for name in names:
                yield from of_check(knowledge, name, needed)
        case steps.DoRepair(repair=repair):
            yield from of_repair(knowledge, repair)
        case steps.HandOver(repair=str(repair)):
            yield from knowledge.repairs[repair].cautions


def of_check(knowledge: KnowledgeBase, check: str, set_up: Iterable[str]) -> Iterator[str]:
    """Cautions of a check and of the set-ups made for it."""
    yield from knowledge.checks[check].cautions
    for name in set_up:
        yield from knowledge.set_ups[name].cautions


def of_repair(knowledge: KnowledgeBase, repair: str) -> Iterator[str]:
    """Cautions of a repair and of its set-ups."""
    yield from knowledge.repairs[repair].cautions
    for name in knowledge.repairs[repair].set_up:
        yield from knowledge.set_ups[name].cautions


def hazards_of(knowledge: KnowledgeBase, needed: Mapping[str, Sequence[str]]) -> tuple[Hazard, ...]:
    """The warnings of a page; `needed` gives the cautions of each step or card by its name, in order."""
    before = _before(needed)
    room = WARNING_WIDTH[0 if len(before) == 1 else 1]
    return tuple(
        hazard(knowledge, name, phrases.BEFORE.format(names=_whom(before[name], len(needed))), room)
        for name in gravest_first(knowledge, before)
    )


def _before(needed: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
    """The steps or cards that each caution stands before."""
    before: dict[str, list[str]] = {}
    for name, needs in needed.items():
        for caution in needs:
            before.setdefault(caution, []).append(name)
    return before


def _whom(before: Sequence[str], every: int) -> str:
    return phrases.ALL_HERE if len(before) == every > 1 else _ranges(before)


def hazard(knowledge: KnowledgeBase, name: str, whom: str, room: float) -> Hazard:
    """A warning in full; `whom`: before what it stands, or its letter; `room`: width for its lines."""
    caution = knowledge.cautions[name]
    return Hazard(name, caution.word, whom, warning_lines(caution, whom, room))


@cache
def warning_lines(caution: Caution, whom: str, room: float) -> tuple[str, ...]:
    """The text of a warning in lines; the first shares its line with the signal word."""
    return beside(caution.word, f"{whom}: {caution.avoid} {caution.consequence}", room)


def beside(word: SignalWord, text: str, room: float) -> tuple[str, ...]:
    """Lines of text of which the first has room for the signal word before it."""
    taken = width_of(f"{signal(word)}  ", SIGNAL_TYPE, bold=True)
    return tuple(fitted(text, room, TYPE, first=room - taken))


def signal(word: SignalWord) -> str:
    """The signal word with its symbol."""
    return word.value if word is SignalWord.NOTICE else f"{phrases.SIGN} {word.value}"


def _ranges(names: Sequence[str]) -> str:
    """R1, R2, R3, R7 as "R1 to R3, R7"; plain numbers alike."""
    letter = "R" if names[0].startswith("R") else ""
    out: list[tuple[int, int]] = []
    for number in (int(name.removeprefix("R")) for name in names):
        if out and out[-1][1] == number - 1:
            out[-1] = (out[-1][0], number)
        else:
            out.append((number, number))
    return ", ".join(_range(letter, first, last) for first, last in out)


def _range(letter: str, first: int, last: int) -> str:
    if first == last:
        return f"{letter}{first}"
    return f"{letter}{first}{', ' if last == first + 1 else ' to '}{letter}{last}"
