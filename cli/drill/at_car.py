"""A drill at the car: its script, and what a learner sees."""

from collections.abc import Iterator, Mapping
from typing import Any

from comeback.cli.drill import words
from comeback.cli.drill.place import Place, Reply, View
from comeback.cli.drill.words import MOST_LINES, put
from comeback.cli.look import Look, Styled
from comeback.cli.numbers import number_in
from comeback.cli.prompt.reply import Record, Remark
from comeback.cli.screens.why import why
from comeback.engine.drill import record
from comeback.engine.drill.drill import Drill, Turn
from comeback.engine.drill.hints import LEVELS
from comeback.kb.vocabulary import Disposition

SIGN_WORDS = ("signs", "sign", "danger", "dangers", "danger sign", "danger signs", "look for danger signs")
HAND_OVER = ("hand-over", "hand over", "handover")
TELL = "What is the customer told about driving until it is repaired? Type a number."
HELP = (
    "Find out what is wrong with the car, in your own order, and repair it.",
    "  any words            find checks and repairs; then type the number",
    "  check ID, repair ID  the same without the list, if you know the id",
    "  signs                look at the danger signs",
    "  r                    what has been found so far",
    "  b                    back from a list or from cautions",
    "  hand-over            pass the car on; this ends the drill",
    "  q                    stop; go on later with: comeback drill --resume",
)
HINTS = (
    "  hint                 a hint in three levels, counted",
    "  w                    the program's next step and why; at cautions what the",
    "                       step can show; counted as a hint",
)
STOPS = (
    "What ends the drill at once: working before you looked at the danger signs,",
    "confirming cautions unread twice, telling the customer less than the signs ask",
    "for, running the engine while a danger sign keeps it off.",
)


class AtCar(Place):
    """The learner looks at the car and works on it."""

    kinds = ("check", "repair")

    def help(self) -> tuple[str, ...]:
        """What can be typed; hints only where there are any."""
        return (*HELP, *(HINTS if self.drill.mode.hints else ()), *STOPS)

    def start(self, name: str) -> list[Styled]:
        """The order as it lies on the bench."""
        return [("faint", self.look.rule), ("title", f"Drill: {name}"), *put(self.look, words.story(self.drill)),
                ("plain", ""), ("say", "Find the cause and repair it.")]  # fmt: skip

    def asks(self, view: View) -> list[Styled]:
        """The advice on driving right after the danger signs, else the keys."""
        if self._advice_is_due:
            return advice_lines(self.drill, TELL, self.look)
        hint = "   hint   w why" if self.drill.mode.hints else ""
        return [("faint", f"words: check or repair   signs{hint}   r   q stop   ? help")]

    @property
    def _advice_is_due(self) -> bool:
        return self.drill.signs_seen and self.drill.advice is None

    def script(self, view: View, lower: str) -> Reply | None:
        """The danger signs, the advice on driving, giving the car away."""
        if lower in SIGN_WORDS:
            return Record(record.SIGNS)
        if self._advice_is_due:
            return told(lower)
        return Record(record.HANDED_OVER) if lower in HAND_OVER else None

    def came(self, done: Record, came: Any, view: View) -> list[Styled]:
        """Signs, results, hints as they come."""
        match done.kind:
            case record.SIGNS:
                return sign_lines(self.drill, came, self.look)
            case record.CHECKED | record.REPAIRED if came is not None:
                return result_lines(self.drill, came, self.look)
            case record.HINTED:
                return hint_lines(self, str(came), done, view)
        return []

    def review(self) -> list[Styled]:
        """What has been found so far, the danger signs first, the latest last."""
        drill, look = self.drill, self.look
        top: list[Styled] = [("title", "Found so far")]
        if drill.signs_seen:
            top += sign_lines(drill, drill.look_at_signs(), look)
        else:
            top.append(("say", "Danger signs have not been looked at."))
        rows = [("plain", line) for text in _found(drill) for line in look.wrap(text, 4, "  ")]
        room = MOST_LINES - len(top) - 2
        cut: list[Styled] = [("faint", f"  ({len(rows) - room} earlier lines left out)")] if len(rows) > room else []
        return [*top, *cut, *rows[max(0, len(rows) - room) :], ("faint", f"{drill.work.minutes:.0f} min so far")]


def told(lower: str) -> Reply:
    """The number of an advice on driving."""
    number = number_in(lower, len(Disposition))
    if number:
        return Record(record.TOLD, {"advice": Disposition(number - 1).word})
    return Remark(f"Type a number from 1 to {len(Disposition)}: the advice on driving.")


def advice_lines(drill: Drill, question: str, look: Look) -> list[Styled]:
    """The question for the advice on driving, with its numbers."""
    names = [drill.knowledge.dispositions[level].name for level in Disposition]
    lines: list[Styled] = [("title", line) for line in look.wrap(question)]
    return [*lines, *(("plain", x) for n, text in enumerate(names, 1) for x in look.wrap(text, 7, f"   {n}   "))]


def sign_lines(drill: Drill, results: Mapping[str, str | None], look: Look) -> list[Styled]:
    """The danger signs: those that are not as they should be one by one, the others in one paragraph."""
    if not results:
        return [("plain", "This complaint has no danger signs on this car.")]
    known = drill.knowledge.checks
    calm = [check for check, result in results.items() if result == known[check].expected]
    waiting = [check for check, result in results.items() if result is None and known[check].runs_engine]
    lines: list[Styled] = [("title", "Danger signs")]
    for check, result in results.items():
        if check not in calm and check not in waiting:
            label = known[check].results[result] if result is not None else words.NOBODY_KNOWS
            mark = look.alert if result is None or result in known[check].red_flag else "-"
            lines += [("say", line) for line in look.wrap(f"{known[check].name}: {label}", 4, f"  {mark} ")]
    for text, names in (("None at", calm), ("Not looked for, that needs the engine to run", waiting)):
        if names:
            named = "; ".join(known[check].name for check in names)
            lines += [("plain", line) for line in look.wrap(f"{text}: {named}", 4, "  ")]
    return lines


def result_lines(drill: Drill, turn: Turn, look: Look) -> list[Styled]:
    """What a turn showed and took."""
    known, repaired = drill.knowledge, turn.kind == "repair"
    lines: list[Styled] = [("title", f"Repaired: {known.repairs[turn.name].name}")] if repaired else []
    texts = list(words.seen(known, turn.results, repaired or len(turn.results) == 1))
    texts = texts or [f"{words.name_of(known, turn.kind, turn.name)}: nothing stored"]
    lines += [("say", line) for text in texts for line in look.wrap(text, 4)]
    if repaired and not drill.ended:
        lines.append(("plain", "The complaint is still there."))
    return [*lines, ("faint", f"{words.minutes(turn.minutes)} min; {drill.work.minutes:.0f} min so far")]


def hint_lines(place: Place, text: str, done: Record, view: View) -> list[Styled]:
    """A hint with its level, or why: of the step whose cautions are on the screen, else of the program's next step."""
    drill, look = place.drill, place.look
    walk, level = drill.walk, drill.hints[-1][1]
    of_step = "level" in done.payload and drill.stage() not in ("signs", "driving", "open")
    lines: list[Styled] = [] if view.chosen and of_step else [("say", line) for line in look.wrap(text)]
    if of_step:
        lines += why(walk.with_step(drill.as_step(*view.chosen)) if view.chosen else walk, look)
    return [*lines, ("faint", f"hint {level} of 3 ({LEVELS[level - 1]}); hints so far: {len(drill.hints)}")]


def _found(drill: Drill) -> Iterator[str]:
    """The learner's findings, one line each."""
    known = drill.knowledge
    for turn in drill.turns:
        if turn.kind == "repair":
            yield f"Repaired: {known.repairs[turn.name].name}"
        texts = list(words.seen(known, turn.results, len(turn.results) == 1))
        yield from texts or [f"{words.name_of(known, turn.kind, turn.name)}: nothing abnormal"]
