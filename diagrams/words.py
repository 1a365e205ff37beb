"""A ladder put into words: what the sheet, the text version and the tap-through page print, one string per place.

All of them read this, so that they say the same with the same numbers.
"""

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from comeback.engine.charts.ladder import END, Kind, Ladder, Row, Sign, Station, by_check
from comeback.kb.schema import Caution, KnowledgeBase
from comeback.kb.vocabulary import Audience, CauseKind, Disposition, Level, SignalWord

LIMITS = "The car maker's data, local codes and licensed practice come first."
STOP = "Engine off, key out, nobody near, call the foreman"
DOWN = "all as it should be"
NO_CODES = "none of these codes"
CODES_AT_END = "one of those in the code table at the end"
GO_TO_CODES = "Go on at its step. Several codes: the topmost first."
NOTHING_TELLS = "No look tells these"
NOT_FIXED = "Not fixed"
STAYS_OFF = "Engine stays off until this is fixed. Not fixed: STOP, call the foreman."
CLOSE = "Fixed: show it once more as the customer uses the car, write down cause and repair, close."
HAND = "Hand over"
HURRY = "Smoke, flames or fuel running out: everybody away from the car, then call the fire brigade. Then go on here."
CANNOT_TELL = "The caller cannot tell, or nothing fits: do not drive, we call you back."
NOBODY = "none of these"
HAND_OVER = (
    "Not found: hand over to the foreman with this sheet. Ruled out: all that was looked at and was as it should be."
)


MANY = 3
"""Steps that share a caution, so that it is told for all."""


@dataclass(frozen=True)
class Notice:
    """A caution: signal word, the short form, and the whole of it."""

    id: str
    word: str
    short: str
    full: str


@dataclass(frozen=True)
class Line:
    """One row in words: where to look, how, what may be found, what to do, when it is fixed.

    `span`: rows that share the look (0: it stands in the row above). `to`: the step to go to instead.
    `plain`: nothing is looked at, the repair is done.
    """

    look: str
    how: str
    find: str
    do: tuple[str, ...]
    fixed: str
    span: int = 1
    to: int | None = None
    plain: bool = False


@dataclass(frozen=True)
class Step:
    """A station in words. `exit`: what leads on; `then`: to which step, 0 at the end. `codes`: of the code table."""

    number: int
    title: str
    state: str
    cautions: tuple[Notice, ...]
    lines: tuple[Line, ...]
    exit: str
    then: int
    decision: bool = False
    codes: bool = False


@dataclass(frozen=True)
class Spoken:
    """What is read aloud to a caller with one advice, and what is not promised."""

    name: str
    say: tuple[str, ...]
    worse: tuple[str, ...]
    promise_not: tuple[str, ...]


@dataclass(frozen=True)
class Sheet:
    """A chart in words."""

    name: str
    title: str
    after: str
    reader: str
    stop: str
    signs: tuple[str, ...]
    common: tuple[Notice, ...]
    steps: tuple[Step, ...]
    end: tuple[str, ...]
    figures: str
    spoken: tuple["Spoken", ...] = ()
    heads: tuple[str, str, str, str] = ("Look at", "If you find", "Do", "Fixed when")
    limits: str = LIMITS


def sheet_of(ladder: Ladder, knowledge: KnowledgeBase) -> Sheet:
    """The chart of a ladder in words."""
    words = _Words(ladder, knowledge)
    steps = tuple(words.step(station) for station in ladder.stations)
    common = _common(steps)
    only = len(knowledge.services) == 1
    parts = (ladder.complaint, *(() if only else (ladder.service,)), ladder.audience.value)
    sheet = Sheet(
        "-".join(parts),
        knowledge.complaints[ladder.complaint].name,
        f"after {_article(knowledge.services[ladder.service].plain)}",
        "Bay",
        STOP,
        tuple(words.sign(sign) for sign in ladder.dangers),
        common,
        tuple(replace(step, cautions=tuple(one for one in step.cautions if one not in common)) for step in steps),
        (CLOSE, HAND_OVER),
        figures(ladder),
    )
    return sheet if ladder.audience is Audience.BAY else _for_phone(sheet, ladder, knowledge)


def _for_phone(sheet: Sheet, ladder: Ladder, knowledge: KnowledgeBase) -> Sheet:
    last = ladder.advice if ladder.advice is not None else Disposition.TOW
    used = {last, Disposition.TOW, *(row.advice for station in ladder.stations for row in station.rows)}
    told = sorted((advice for advice in used if advice is not None), reverse=True)
    return replace(
        sheet,
        reader="Phone",
        stop=HURRY,
        end=(f"{knowledge.dispositions[last].name}.", CANNOT_TELL),
        spoken=tuple(_spoken(ladder, knowledge, advice) for advice in told),
        heads=("Ask, read aloud", "If the caller says", "Tell the caller", "When"),
    )


def _spoken(ladder: Ladder, knowledge: KnowledgeBase, advice: Disposition) -> Spoken:
    """The words of an advice; if the car may be driven, first what its complaint asks for, as to read the dipstick."""
    told, reports = knowledge.dispositions[advice], knowledge.complaints[ladder.complaint].reports.items()
    looks = [line for check, result in reports for line in knowledge.checks[check].before_driving.get(result, ())]
    first = looks if advice <= Disposition.COME_IN else ()
    return Spoken(told.name, (*first, *told.say), told.worse, told.promise_not)


def figures(ladder: Ladder) -> str:
    """How well the chart does, in a line."""
    found = ladder.figures
    right, clean = round(100 * found.right), round(100 * min(found.clean, found.right))
    if ladder.audience is Audience.PHONE:
        return f"Of 100 such callers {right} are told no less than their car needs, {clean} of them just that."
    stopped = f" {round(100 * found.stopped)} more show a danger sign first." if found.stopped >= 0.005 else ""
    minutes = f" {round(found.minutes)} minutes on average."
    return f"Of 100 such cars {right} end right, {clean} with nothing unneeded.{minutes}{stopped}"


def _common(steps: Sequence[Step]) -> tuple[Notice, ...]:
    """Cautions that belong to so many steps that they stand on top of every page instead, the gravest first."""
    counts = Counter(one for step in steps for one in step.cautions)
    often = [one for one, times in counts.items() if times >= max(MANY, len(steps) / 5)]
    return tuple(sorted(often, key=lambda one: (list(SignalWord).index(SignalWord(one.word)), one.id)))


def _article(name: str) -> str:
    return f"{'an' if name[0] in 'aeio' else 'a'} {name}"


class _Words:
    def __init__(self, ladder: Ladder, knowledge: KnowledgeBase) -> None:
        self.ladder, self.knowledge = ladder, knowledge
        self.table = {station.number for station in ladder.codes}
        self.told: set[str] = set()

    def sign(self, sign: Sign) -> str:
        """A danger sign, with the chart that says what to do about it."""
        check = self.knowledge.checks[sign.check]
        seen = " or ".join(_lower(check.results[result]) for result in sign.results)
        return f"{_lower(check.name)}: {seen}" if len(seen) < 12 or seen.startswith(("it ", "they ")) else seen

    def step(self, station: Station) -> Step:
        """A station in words."""
        lines = tuple(self._code_lines(station) if station.kind is Kind.CODES else self._lines(station))
        none = NO_CODES if station.kind is Kind.CODES else DOWN
        return Step(
            station.number,
            self._title(station),
            self._state(station),
            tuple(self.notices(station)),
            lines,
            NOBODY
            if station.kind is Kind.ASK
            else none
            if station.kind is not Kind.BRANCH and any(line.look for line in lines)
            else NOT_FIXED.lower(),
            station.then,
            station.kind in (Kind.CODES, Kind.ROUTE),
            station.number in self.table,
        )

    def _title(self, station: Station) -> str:
        if station.kind is Kind.CODES:
            return "Stored codes"
        if station.kind is Kind.ASK:
            names = [self.knowledge.checks[check].name for check in station.checks]
            return names[0] if len(names) == 1 else "Danger signs"
        if station.kind is Kind.BRANCH:
            return self.entry(station)
        if not station.checks:
            return f"{NOTHING_TELLS}: do them from the top, prove each"
        first = station.number == 1 and self._touched(station)
        return f"{self._place(station)}{': what the service touched' if first else ''}"

    def entry(self, station: Station) -> str:
        """What leads to a branch: the codes, or the result."""
        codes: list[str] = []
        names: list[str] = []
        for check, result in station.entry:
            entry = self.knowledge.checks[check]
            codes += entry.codes.get(result, ())
            names.append(_lower(entry.results[result]) if len(entry.results) > 2 else _lower(entry.name))
        what = "; ".join(dict.fromkeys(names))
        return f"{', '.join(runs(codes))}{f': {what}' if len(station.entry) < 3 else ''}" if codes else _upper(what)

    def _place(self, station: Station) -> str:
        names = [
            re.split(", | plugged", self.knowledge.set_ups[name].name)[0]
            for name in station.set_up
            if name != "codes-saved"
        ]
        if station.drives:
            return "On the road"
        runs = any(self.knowledge.checks[check].runs_engine for check in station.checks)
        running = "Engine running" if runs else "Engine off"
        if not names:
            return running if runs else "Engine off, hood open"
        if any(name.startswith("Ignition on") for name in names):
            names = [_upper(name) for name in names if not name.startswith("Ignition on")]
            running = "Key on, engine off"
        return ", ".join([running, *(_lower(name) for name in names)])

    def _state(self, station: Station) -> str:
        if station.number in self.table:
            minutes = f"{_minutes(station.minutes)}" if station.minutes else ""
            place = self._place(station) if station.checks else ""
            return ", ".join(part for part in (place.removesuffix(", hood open"), minutes) if part)
        return _minutes(station.minutes) if station.minutes else ""

    def _touched(self, station: Station) -> bool:
        causes = self.knowledge.causes
        slips = [
            any(causes[c].kind is CauseKind.SLIP for name in row.repairs for c in self.knowledge.repairs[name].removes)
            for row in station.rows
        ]
        return sum(slips) * 2 > len(slips)

    def notices(self, station: Station) -> list[Notice]:
        """The cautions of a station, the gravest first: of its state, its checks, its repairs."""
        known = self.knowledge
        if station.kind is Kind.ASK:
            return []
        names = [name for need in station.set_up for name in known.set_ups[need].cautions]
        names += [name for check in station.checks for name in known.checks[check].cautions]
        for row in station.rows:
            for repair in row.repairs:
                names += known.repairs[repair].cautions
                names += [n for p in known.repairs[repair].procedures for n in known.procedures[p].cautions]
        order = list(SignalWord)
        cautions = sorted(dict.fromkeys(names), key=lambda name: order.index(known.cautions[name].word))
        return [notice(known.cautions[name]) for name in cautions]

    def _code_lines(self, station: Station) -> Iterable[Line]:
        panel = self.knowledge.panels[self.knowledge.checks[station.rows[0].check].panel or ""]
        yield Line(panel.name, panel.do, CODES_AT_END, (GO_TO_CODES,), "")

    def _lines(self, station: Station) -> Iterable[Line]:
        for rows in by_check(station.rows):
            for k, row in enumerate(rows):
                check = self.knowledge.checks.get(row.check)
                how = "" if check is None or row.check in self.told else check.do or ""
                if check and station.kind is Kind.ASK:
                    how = check.say or ""
                span = len(rows) if k == 0 else 0
                self.told.add(row.check)
                yield Line(
                    check.name if check else "",
                    how,
                    self._found(row),
                    self._do(row),
                    self._fixed(row),
                    span,
                    row.to,
                    check is None,
                )

    def _found(self, row: Row) -> str:
        if not row.check:
            return ""
        return "; or ".join(_lower(self.knowledge.checks[row.check].results[result]) for result in row.results)

    def _do(self, row: Row) -> tuple[str, ...]:
        if row.advice is not None:
            return (self.knowledge.dispositions[row.advice].name,)
        out = [
            self._repair(name) if k == 0 else f"{NOT_FIXED}: {_lower(self._repair(name))}"
            for k, name in enumerate(row.repairs)
        ]
        if row.to is not None:
            out.append(f"Go to {row.to}")
        if row.stays_off:
            out.append(STAYS_OFF)
        return tuple(out)

    def _repair(self, name: str) -> str:
        repair = self.knowledge.repairs[name]
        told = repair.level is not Level.SPECIALIST or repair.name.startswith(HAND)
        return repair.name if told else f"{HAND}: {_lower(repair.name)}"

    def _fixed(self, row: Row) -> str:
        if row.advice is not None:
            return _lower(self.knowledge.dispositions[row.advice].within)
        out = []
        for name in row.repairs:
            proof = self.knowledge.repairs[name].proof
            check = self.knowledge.checks[proof.check]
            shown = check.results[proof.result]
            out.append(_lower(shown) if proof.check == row.check else f"{_lower(check.name)}: {_lower(shown)}")
        return "; ".join(dict.fromkeys(out))


def notice(caution: Caution) -> Notice:
    """A caution in its two forms."""
    full = f"{caution.avoid} {caution.hazard} {caution.consequence}"
    return Notice(caution.id, caution.word.value, caution.reminder or caution.avoid.rstrip("."), full)


def runs(codes: Sequence[str]) -> list[str]:
    """Codes in order, runs of three and more shortened."""
    out: list[list[str]] = []
    for code in sorted(dict.fromkeys(codes)):
        if out and code[:2] == out[-1][-1][:2] and int(code[2:], 16) == int(out[-1][-1][2:], 16) + 1:
            out[-1].append(code)
        else:
            out.append([code])
    return [f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in out]


def _minutes(minutes: float) -> str:
    return f"{max(1, round(minutes))} min"


def in_signs(text: str) -> str:
    """Degrees as on a gauge: the files spell `degC`, which is easy to type."""
    return text.replace(" degC", " °C").replace(" degF", " °F")


def _lower(text: str) -> str:
    """The text as it stands inside a sentence, degrees in signs; short forms such as MAP stay."""
    text = in_signs(text)
    return text if text[1:2].isupper() or text[:2] == "D " else text[:1].lower() + text[1:]


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


__all__ = ["END", "Line", "Notice", "Sheet", "Step", "figures", "in_signs", "runs", "sheet_of"]
