"""What a box says on paper: a kind, a title, a few details; short enough to read at arm's length."""

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum

from comeback.diagrams.paper import phrases
from comeback.diagrams.paper.lettering import in_signs
from comeback.engine.charts.decision_graph import CUT, DANGER, FULL, OFF, ROWS, Box, TryInOrder
from comeback.engine.charts.growth import PaperStep
from comeback.engine.walk import steps
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import FEATURE_NAMES, Audience

WORDS = 25
"""Most words in a box."""
ROOM = WORDS - 1
"""One is kept for the symbol of a hazard."""
LINE, BOLD = 32, 3
"""Most characters in a line, and how many fewer in a title, which is bold and one point larger."""


class Kind(Enum):
    """Decides the shape of a box."""

    QUESTION = "question"  # rounded, with a question mark
    ACTION = "action"  # plain rectangle
    ENDING = "ending"  # double border


@dataclass(frozen=True)
class Caption:
    """Text of a box, at most `line` characters in a line.

    `title` starts with the step number, and the symbol of a hazard. `titled_by_repairs`: then the repairs follow
    at once, as in a table whose head says what they are.
    """

    kind: Kind
    title: str
    details: tuple[str, ...] = ()
    line: int = LINE
    titled_by_repairs: bool = False

    @property
    def words(self) -> int:
        """Words in the box, its number or symbol included."""
        return len(" ".join((self.title, *self.details)).split())

    @property
    def title_lines(self) -> list[str]:
        """The title, wrapped."""
        return wrapped(self.title, self.line - BOLD)

    @property
    def detail_lines(self) -> list[str]:
        """All details, wrapped, each starting on its own line."""
        return [line for text in self.details for line in wrapped(text, self.line)]


def wrapped(text: str, width: int) -> list[str]:
    """`text` in lines of at most `width` characters."""
    return textwrap.wrap(in_signs(text), width) or [""]


def within(title: str, texts: Iterable[str], limit: int = ROOM) -> tuple[str, ...]:
    """Those of `texts`, in order of importance, that fit into a box beside its title."""
    kept: list[str] = []
    for text in texts:
        if text and len(" ".join((title, *kept, text)).split()) <= limit:
            kept.append(text)
    return tuple(kept)


WORDED = 3
"""Most repairs that an end names in words."""


@dataclass(frozen=True)
class Captions:
    """Captions for one audience; `cards` gives the number of the card of each repair that an end names.

    `worded`: most repairs that an end names in words, not by their number only.
    """

    knowledge: KnowledgeBase
    audience: Audience
    cards: Mapping[str, str] = field(default_factory=dict)
    worded: int = WORDED

    def of(self, box: Box, hazardous: bool = False) -> Caption:
        """The caption of a box; a hazardous one bears the symbol of the warnings at the top of its page."""
        caption = self._of(box)
        if not hazardous:
            return caption
        number = f"{box.number}. "
        return replace(caption, title=f"{number}{phrases.SIGN} {caption.title.removeprefix(number)}")

    def in_table(self, box: Box) -> Caption:
        """The caption of an end in a table of answers; its head says that repairs are tried in order."""
        caption = self._of(box)
        if caption.title != f"{box.number}. {phrases.TRY}" or not caption.details:
            return caption
        first, *rest = caption.details
        return replace(caption, title=f"{box.number}. {first}", details=tuple(rest), titled_by_repairs=True)

    def _of(self, box: Box) -> Caption:
        number, step = box.number, box.step
        match step:
            case steps.DangerScreen():
                return Caption(Kind.QUESTION, f"{number}. Danger signs?", (phrases.DANGER[self.audience],))
            case steps.ChooseCondition(feature):
                return Caption(Kind.QUESTION, f"{number}. {FEATURE_NAMES[feature]}")
            case steps.MakeCheck(check=check, set_up=set_up, again=again):
                return self._check(number, check, set_up, step.despite, phrases.LOOK_AGAIN if again is not None else "")
            case steps.ProveRepair(check=check):
                return self._check(number, check, (), step.despite, "Proof: ")
            case steps.ReadPanel(panel=panel):
                title = f"{number}. {self.knowledge.panels[panel].name}?"
                texts = [self.despite(step.despite), self.knowledge.panels[panel].do]
                return Caption(Kind.QUESTION, title, within(title, texts))
            case steps.DoRepair(repair=repair):
                return self._repair(number, repair, step.despite)
            case _:
                return self._ending(number, step)

    def despite(self, signs: Sequence[str]) -> str:
        """That the engine is run although danger signs say to keep it off; empty if none does."""
        names = ", ".join(self.knowledge.checks[sign].name.lower() for sign in signs)
        return phrases.DESPITE.format(signs=names) if signs else ""

    def _check(
        self, number: int, name: str, set_up: Sequence[str], despite: Sequence[str] = (), lead: str = ""
    ) -> Caption:
        check = self.knowledge.checks[name]
        title = f"{number}. {lead}{check.name}?"
        if self.audience is Audience.PHONE:
            aloud = within(title, [f'"{check.say}"'])
            return Caption(Kind.QUESTION, title, aloud) if aloud else Caption(Kind.QUESTION, f'{number}. "{check.say}"')
        first = ", ".join(self.knowledge.set_ups[s].name for s in set_up)
        against = (self.despite(despite),) if despite else ()
        how = within(" ".join((title, *against)), [str(check.do)]) or (phrases.HOW_IN_TWIN.format(number=number),)
        how = (*against, *how)
        rest = [f"First: {first}." if first else "", f"With: {check.tool}." if check.tool else ""]
        return Caption(Kind.QUESTION, title, (*how, *within(" ".join((title, *how)), rest)))

    def _repair(self, number: int, name: str, despite: Sequence[str]) -> Caption:
        repair = self.knowledge.repairs[name]
        title = f"{number}. {repair.name}"
        proof = self.knowledge.checks[repair.proof.check]
        steps_in = phrases.STEPS_IN_TWIN.format(number=number)
        proven = f"Proof: {proof.name}: {proof.results[repair.proof.result]}."
        return Caption(Kind.ACTION, title, within(title, [self.despite(despite), steps_in, proven]))

    def _ending(self, number: int, step: PaperStep) -> Caption:
        title, *texts = self.ending(step)
        return Caption(Kind.ENDING, f"{number}. {title}", within(f"{number}. {title}", texts))

    def ending(self, step: PaperStep) -> list[str]:
        """What an end tells: its title, then details in order of importance."""
        match step:
            case TryInOrder():
                return self._in_order(step)
            case steps.HandOver() if step in (CUT, FULL):
                return [phrases.RARE[self.audience]]
            case steps.HandOver() if step == ROWS:
                return [phrases.ROWS]
            case steps.HandOver() if step == DANGER:
                return [phrases.TRY_DANGER, phrases.PROGRAM]
            case steps.HandOver() if step == OFF:
                return [phrases.TRY_DANGER, phrases.FETCH]
            case steps.HandOver(reason, repair):
                name = [self.knowledge.repairs[repair].name + "."] if repair else []
                return [phrases.HAND_OVER, *name, f"{reason[0].upper()}{reason[1:]}."]
            case steps.CloseCase(causes=causes, proven=proven):
                names = ", ".join(self.knowledge.causes[cause].name for cause in causes)
                return [phrases.CLOSE_PROVEN if proven else phrases.CLOSE_UNPROVEN, f"Cause: {names}." if names else ""]
            case steps.Advise(disposition=disposition):
                advice = self.knowledge.dispositions[disposition]
                said = advice.within.lower() in advice.name.lower()
                return [advice.name] if said else [advice.name, f"{advice.within}."]
            case _:
                return [type(step).__name__]

    def _in_order(self, step: TryInOrder) -> list[str]:
        """Which cards in which order, as many of the first ones in words as there is room for."""
        off, danger = step.engine_off is not None, step.danger
        title = phrases.TRY_DANGER if danger else phrases.TRY_OFF if off else phrases.TRY
        lead = (phrases.SAFE_OFF if off else phrases.SAFE) if danger else ""
        for worded in range(self.worded, 0, -1):
            texts = [*self._named(lead, step.repairs, worded), *self._named(phrases.THEN, step.then, worded)]
            if len(f"100. {' '.join((title, *texts))}".split()) <= ROOM:
                return [title, *texts]
        return [title, *self._named(lead, step.repairs, 0), *self._named(phrases.THEN, step.then, 0)]

    def _named(self, lead: str, repairs: Sequence[str], worded: int) -> list[str]:
        """Lines that name repairs in their order: the first ones in words, all others by number."""
        if not repairs:
            return []
        numbers = [self.cards.get(name, "R?") for name in repairs]
        first = [f"{n} {self.knowledge.repairs[r].name}." for n, r in zip(numbers, repairs[:worded], strict=False)]
        rest = ", ".join(numbers[worded:])
        if not first:
            return [f"{lead}: {rest}." if lead else f"{rest}."]
        return [*([f"{lead}:"] if lead else []), *first, *([f"{rest}."] if rest else [])]

    def aloud(self, number: int, step: PaperStep) -> str | None:
        """What is read to the caller at an end, as it stands on the page; None where nobody is on the line."""
        words = self.words(step)
        return phrases.AT_END.format(number=number, words=words) if words else None

    def words(self, step: PaperStep) -> str:
        """What is read to the caller at an end: the advice, or where there is none yet, not to drive until called."""
        if isinstance(step, steps.Advise):
            advice = self.knowledge.dispositions[step.disposition]
            return " ".join((*step.first, *advice.say, *advice.worse))
        ends = isinstance(step, steps.HandOver | steps.Finished | TryInOrder)
        return phrases.CALL_BACK if ends and self.audience is Audience.PHONE else ""
