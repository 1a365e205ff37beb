"""A drill at the car: its script, and what a learner sees."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from comeback.cli.drill import words
from comeback.cli.drill.words import MOST_LINES, put
from comeback.cli.look import Look, Styled
from comeback.cli.numbers import number_in
from comeback.cli.prompt.reply import Command, Remark
from comeback.cli.screens.screens import step_cautions
from comeback.cli.screens.why import why
from comeback.cli.words.search import rank
from comeback.engine.belief.network import fits
from comeback.engine.drill import record
from comeback.engine.drill.drill import Drill, Turn
from comeback.kb.vocabulary import Disposition

Entry = tuple[str, str]
"""("check" or "repair", id)."""
SIGN_WORDS = ("signs", "sign", "danger", "dangers", "danger sign", "danger signs", "look for danger signs")
HAND_OVER = ("hand-over", "hand over", "handover")
TELL = "What do you tell the customer about driving until it is repaired? Type a number."
HINTS = (
    "  hint, w              the program's next step and why; at cautions what the",
    "                       step can show; counted",
)
HELP = (
    "Find out what is wrong with the car, in your own order, and repair it.",
    "  any words            find checks and repairs; then type the number",
    "  check ID, repair ID  the same without the list, if you know the id",
    "  signs                look at the danger signs",
    "  r                    what has been found so far",
    "  b                    back from a list or from cautions",
    "  hand-over            pass the car on; this ends the drill",
    "  q                    stop; continue later with: comeback drill --resume",
    *HINTS,
    "What ends the drill at once: working before you looked at the danger signs,",
    "confirming cautions unread twice, advice on driving milder than the signs",
    "allow, running the engine while a danger sign keeps it off.",
)
MOST_FOUND = 9


@dataclass(frozen=True)
class View:
    """What is on the screen: entries listed, the one `chosen` whose cautions wait to be read.

    `slipped`: they were confirmed unread once. `telling`: the list of advice is open.
    """

    found: tuple[Entry, ...] = ()
    chosen: Entry | None = None
    slipped: bool = False
    telling: bool = False


@dataclass
class AtCar:
    """The learner looks at the car and works on it."""

    drill: Drill
    look: Look

    kinds: ClassVar[tuple[str, ...]] = ("check", "repair")
    told, first = 3, "Find the cause and repair it."
    """Lines of the order that are known at the start; what is said then."""
    keys: ClassVar[tuple[str, ...]] = HELP

    def help(self) -> tuple[str, ...]:
        """What can be typed; hints only where there are any."""
        return tuple(line for line in self.keys if self.drill.mode.hints or line not in HINTS)

    def start(self, name: str) -> list[Styled]:
        """The first screen: the order as it lies on the bench."""
        order = put(self.look, words.story(self.drill)[: self.told])
        return [("faint", self.look.rule), ("title", f"Drill: {name}"), *order, ("plain", ""), ("say", self.first)]

    def asks(self, view: View) -> list[Styled]:
        """The question that is open (advice on driving, right after the danger signs), else the keys."""
        if self._advice_is_due:
            return advice_lines(self.drill, TELL, self.look)
        hint = "   hint" if self.drill.mode.hints else ""
        return [("faint", f"words: check or repair   signs{hint}   r   q stop   ? help")]

    @property
    def _advice_is_due(self) -> bool:
        return self.drill.signs_seen and self.drill.advice is None

    def script(self, view: View, lower: str) -> Command | Remark | record.Act | None:
        """The reply if the line answers an open question or is of the script; else None."""
        if lower in SIGN_WORDS:
            return record.Act(record.SIGNS)
        if self._advice_is_due:
            return told(lower)
        return record.Act(record.HANDED_OVER) if lower in HAND_OVER else None

    def came(self, done: record.Act, came: Any, view: View) -> list[Styled]:
        """What came of something that was done: signs, results, hints."""
        match done.kind:
            case record.SIGNS:
                return sign_lines(self.drill, came, self.look)
            case record.CHECKED | record.REPAIRED if came is not None:
                return result_lines(self.drill, came, self.look)
            case record.HINTED:
                return self._hint(str(came), view)
        return []

    def _hint(self, due: str, view: View) -> list[Styled]:
        """What comes next and why; of the step whose cautions are on the screen only why."""
        drill, look = self.drill, self.look
        walk = drill.walk.with_step(drill.as_step(*view.chosen)) if view.chosen else drill.walk
        lines: list[Styled] = []
        if not view.chosen:
            lines = look.styled("say", due or f"Next: {words.title(drill.knowledge, walk.step)}")
        return [*lines, *(why(walk, look) if view.chosen or not due else ()), ("faint", f"hints so far: {drill.hints}")]

    def review(self) -> list[Styled]:
        """What has been found so far, the danger signs first, the latest last."""
        drill, look = self.drill, self.look
        top: list[Styled] = [("title", "Found so far")]
        looked = sign_lines(drill, drill.look_at_signs(), look) if drill.signs_seen else []
        top += looked or [("say", "Danger signs have not been looked at.")]
        rows = [("plain", x) for turn in drill.turns for text in _shown(drill, turn) for x in look.wrap(text, 4, "  ")]
        left = max(0, len(rows) - (MOST_LINES - len(top) - 2))
        cut: list[Styled] = [("faint", f"  ({left} earlier lines left out)")] if left else []
        return [*top, *cut, *rows[left:], ("faint", f"{drill.work.minutes:.0f} min so far")]

    def unread(self, entry: Entry) -> list[str]:
        """Cautions of an entry that were not read in this drill; those of the step in the real walk."""
        names = dict.fromkeys(step_cautions(self.drill.walk.with_step(self.drill.as_step(*entry))))
        return [name for name in names if name not in self.drill.read]


def told(lower: str) -> record.Act | Remark:
    """The number of an advice on driving."""
    number = number_in(lower, len(Disposition))
    if number:
        return record.Act(record.TOLD, {"advice": Disposition(number - 1).word})
    return Remark(f"Type a number from 1 to {len(Disposition)}: the advice on driving.")


def advice_lines(drill: Drill, question: str, look: Look) -> list[Styled]:
    """The question for the advice on driving, with its numbers."""
    names = [drill.knowledge.dispositions[level].name for level in Disposition]
    return [*look.styled("title", question), *look.numbered(names)]


def sign_lines(drill: Drill, results: Mapping[str, str | None], look: Look) -> list[Styled]:
    """The danger signs: those that are not as they should be one by one, the others in one paragraph."""
    if not results:
        return [("plain", "This complaint has no danger signs on this car.")]
    known = drill.knowledge.checks
    calm = [check for check, result in results.items() if result == known[check].expected]
    waiting = [check for check, result in results.items() if result is None and known[check].runs_engine]
    lines: list[Styled] = [("title", "Danger signs")]
    for check, result in results.items():
        if check not in (*calm, *waiting):
            label = known[check].results[result] if result is not None else words.NOBODY_KNOWS
            mark = look.alert if result is None or result in known[check].red_flag else "-"
            lines += look.styled("say", f"{known[check].name}: {label}", 4, f"  {mark} ")
    for text, names in (("No sign of", calm), ("Not checked, it needs the engine running", waiting)):
        named = "; ".join(known[check].name for check in names)
        lines += [("plain", line) for line in look.wrap(f"{text}: {named}", 4, "  ") if named]
    return lines


def _shown(drill: Drill, turn: Turn) -> list[str]:
    """The repair, and the results: all of a check alone, of a panel or a proof what is not as it should be."""
    known, repaired = drill.knowledge, turn.kind == "repair"
    texts = list(words.seen(known, turn.results, repaired or len(turn.results) == 1))
    if repaired:
        return [f"Repaired: {known.repairs[turn.name].name}", *texts]
    return texts or [f"{words.name_of(known, turn.kind, turn.name)}: nothing stored"]


def result_lines(drill: Drill, turn: Turn, look: Look) -> list[Styled]:
    """What a turn showed and took."""
    lines: list[Styled] = [("say", line) for text in _shown(drill, turn) for line in look.wrap(text, 4)]
    if turn.kind == "repair" and not drill.ended:
        lines.append(("plain", "The complaint is still there."))
    return [*lines, ("faint", f"{words.minutes(turn.minutes)} min; {drill.work.minutes:.0f} min so far")]


def search(drill: Drill, words: str, kinds: tuple[str, ...]) -> tuple[tuple[Entry, ...], bool]:
    """Entries that the words may mean, best first; only one, and True, if `kinds` is one kind and its id was typed."""
    known, typed = drill.knowledge.checks, words.replace(" ", "-")
    if kinds == ("check",) and typed in known and known[typed].panel:
        return (("check", typed),), True
    entries = {f"{kind} {name}": phrases for kind in kinds for name, phrases in _phrases(drill, kind)}
    exact = [key for key in entries if key.partition(" ")[2] == typed and len(kinds) == 1]
    starts = [word[:4] for word in words.replace("-", " ").split() if len(word) > 2]  # some word must begin alike
    heard = {key: " ".join(phrases).lower().replace("-", " ").split() for key, phrases in entries.items()}
    near = (key for key in rank(words, entries) if any(w.startswith(start) for start in starts for w in heard[key]))
    ranked = exact or list(near)
    return tuple((kind, name) for kind, _, name in (key.partition(" ") for key in ranked[:MOST_FOUND])), bool(exact)


def _phrases(drill: Drill, kind: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Ids with the phrases that mean them, of what fits this car and can be asked here; one check of each panel."""
    known, build = drill.knowledge, drill.walk.case.vehicle
    if kind == "repair":
        yield from ((x.id, (x.name, x.id)) for x in known.repairs.values() if fits(x.only_if, build))
        return
    panels: set[str] = set()
    for check in known.checks.values():
        if drill.audience not in check.audience or not fits(check.only_if, build) or check.panel in panels:
            continue
        if check.panel:
            panels.add(check.panel)
            yield check.id, (known.panels[check.panel].name, check.panel)
        else:
            yield check.id, (check.name, check.id, check.point)
