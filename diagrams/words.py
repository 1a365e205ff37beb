"""A ladder put into words: what sheet, text version, flowchart and tap-through page print, one string per place.

All of them read this, so that they say the same with the same numbers.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from comeback.engine.charts.ladder import Kind, Ladder, Row, Sign, Station, by_check
from comeback.engine.walk.walk import begin_walk
from comeback.kb.schema import Caution, KnowledgeBase, Repair
from comeback.kb.vocabulary import Audience, CauseKind, Disposition, Level, SignalWord

LIMITS = "The car maker's data, local codes and licensed practice come first."
STOP = "Engine off, key out, nobody near, call the foreman"
DOWN = "all OK"
NO_CODES = "none of these codes"
CODES_AT_END = "one of those in the code table at the end"
GO_TO_CODES = "Go on at its step. Several codes: the topmost first."
NOTHING_TELLS = "No test for these"
NOT_FIXED = "Not fixed"
STEP = "First do step"
CLEAR = "everyone away from the car, switch nothing on, call the fire department; go on only when it is safe"
STAYS_OFF = "Engine stays off until this is fixed. Not fixed: STOP, call the foreman."
OTHER_CHART = "Engine stays off. STOP, call the foreman; go on with the chart"
CLOSE = "Fixed only if the complaint is gone in normal use; if not, next row. Write down cause and repair."
HAND = "Hand over"
HURRY = "Smoke, flames or leaking fuel: everybody away from the car, then call the fire department. Then go on here"
CANNOT_TELL = "The caller cannot tell, or nothing fits: do not drive, we call you back."
NOBODY = "none of these"
HAND_OVER = "Not found: hand over to the foreman with this sheet. Ruled out: all that was looked at and was OK."
COMMON, MOST = 0.3, 0.6
"""A caution that more of the steps need may be told once for all; of so many steps it is; judged."""
TWO_LINES = 205
"""Letters of the cautions on top of a page, their signal words aside; measured."""
GRAVEST_FIRST = [word.value for word in SignalWord]


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

    `span`: rows that share the look (0: it is in the row above). `plain`: nothing is looked at, the repair is done.
    """

    look: str
    how: str
    find: str
    do: tuple[str, ...]
    fixed: str
    span: int = 1
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
    """A chart in words.

    `common`: cautions of so many steps that they are on top of every page. `tight`: lines closer, to save a page.
    """

    name: str
    title: str
    after: str
    signs: tuple[str, ...]
    common: tuple[Notice, ...]
    steps: tuple[Step, ...]
    figures: str
    reader: str = "Bay"
    stop: str = STOP
    end: tuple[str, ...] = (CLOSE, HAND_OVER)
    spoken: tuple[Spoken, ...] = ()
    heads: tuple[str, str, str, str] = ("Look at", "If you find", "Do", "Fixed when")
    limits: str = LIMITS
    tight: bool = False


def sheet_of(ladder: Ladder, knowledge: KnowledgeBase) -> Sheet:
    """The chart of a ladder in words."""
    words = _Words(ladder, knowledge)
    steps = [words.step(station) for station in ladder.stations]
    often = _common(steps)
    done = knowledge.services[ladder.service]
    service, only = done.plain, "" if done.only_if or not knowledge.not_covered else ", gasoline engine"
    parts = (ladder.complaint, *((ladder.service,) if len(knowledge.services) > 1 else ()), ladder.audience.value)
    sheet = Sheet(
        name="-".join(parts),
        title=knowledge.complaints[ladder.complaint].name,
        after=f"after {'an' if service[0] in 'aeio' else 'a'} {service}{only}",
        signs=tuple(words.sign(sign) for sign in ladder.dangers),
        common=tuple(sorted(often, key=lambda one: (GRAVEST_FIRST.index(one.word), one.id))),
        steps=tuple(replace(step, cautions=tuple(one for one in step.cautions if one not in often)) for step in steps),
        figures=figures(ladder),
    )
    if ladder.audience is Audience.BAY:
        return replace(sheet, stop=f"{words.own_danger()}{sheet.stop}")
    last = ladder.advice if ladder.advice is not None else Disposition.TOW
    told = {last, Disposition.TOW, *(row.advice for station in ladder.stations for row in station.rows)} - {None}
    return replace(
        sheet,
        reader="Phone",
        stop=HURRY,
        end=(f"{knowledge.dispositions[last].name}.", CANNOT_TELL),
        spoken=tuple(words.spoken(advice) for advice in sorted((one for one in told if one is not None), reverse=True)),
        heads=("Ask, read aloud", "If the caller says", "Tell the caller", "When"),
    )


def _common(steps: Sequence[Step]) -> list[Notice]:
    """The cautions that many steps need, as many as fit on top of a page: those of most steps, then the gravest."""
    counts = Counter(one for step in steps for one in step.cautions)
    many = [one for one, times in counts.most_common() if times > max(1.0, COMMON * len(steps))]
    many.sort(key=lambda one: counts[one] < MOST * len(steps) and 1 + GRAVEST_FIRST.index(one.word))
    out, room = list[Notice](), TWO_LINES
    for one in many:
        if len(one.short) <= room:
            out.append(one)
            room -= len(one.short) + 2
    return out


def figures(ladder: Ladder) -> str:
    """How well the chart does, in a line."""
    if not ladder.stations:
        return "Nothing here finds it on paper: hand the car over, or go on with the program."
    found = ladder.figures
    right, clean = round(100 * found.right), round(100 * min(found.clean, found.right))
    if ladder.audience is Audience.PHONE:
        return f"Of 100 such callers {right} are told no less than their car needs, {clean} of them just that."
    stopped = f" {round(100 * found.stopped)} more show a danger sign first." if found.stopped >= 0.005 else ""
    minutes = f" {round(found.minutes)} minutes on average."
    return f"Of 100 such cars {right} end right, {clean} with nothing unneeded.{minutes}{stopped}"


class _Words:
    def __init__(self, ladder: Ladder, knowledge: KnowledgeBase) -> None:
        self.ladder, self.knowledge = ladder, knowledge
        self.table = {station.number for station in ladder.codes}
        self.told: set[str] = set()
        self.dead = begin_walk(knowledge, ladder.service, ladder.complaint, ladder.audience).view.dead
        self.places = {tuple(rows): station.number for station in ladder.trunk for rows in by_check(station.rows)}

    def sign(self, sign: Sign) -> str:
        """A danger sign; with the name of its check where the result alone says little."""
        check = self.knowledge.checks[sign.check]
        seen = " or ".join(_lower(check.results[result]) for result in sign.results)
        return f"{_lower(check.name)}: {seen}" if len(seen) < 12 or seen.startswith(("it ", "they ")) else seen

    def own_danger(self) -> str:
        """What comes before all else if the complaint itself may burn people; empty if not."""
        reports = self.knowledge.complaints[self.ladder.complaint].reports.items()
        seen = [check.results[result] for name, result in reports
                for check in [self.knowledge.checks[name]] if result in check.fire]  # fmt: skip
        return f"{seen[0]} now: {CLEAR}. " if seen else ""

    def spoken(self, advice: Disposition) -> Spoken:
        """An advice; if the car may be driven, first what its complaint asks for, as to read the dipstick."""
        told, reports = self.knowledge.dispositions[advice], self.knowledge.complaints[self.ladder.complaint].reports
        looks = [self.knowledge.checks[check].before_driving.get(result, ()) for check, result in reports.items()]
        first = [line for lines in looks for line in lines] if advice <= Disposition.COME_IN else ()
        return Spoken(told.name, (*first, *told.say), told.worse, told.promise_not)

    def step(self, station: Station) -> Step:
        """A station in words."""
        coded = station.number in self.table
        state = [f"{max(1, round(station.minutes))} min"] if station.minutes else []
        if coded and station.checks:
            state.insert(0, self._place(station).removesuffix(", hood open"))
        lines = tuple(self._lines(station))
        down = {Kind.ASK: NOBODY, Kind.CODES: NO_CODES, Kind.BRANCH: NOT_FIXED.lower()}.get(station.kind, DOWN)
        return Step(
            station.number,
            self._title(station),
            ", ".join(state),
            tuple(self._notices(station)),
            lines,
            down if any(line.look for line in lines) else NOT_FIXED.lower(),
            station.then,
            decision=station.kind is Kind.CODES,
            codes=coded,
        )

    def _title(self, station: Station) -> str:
        if station.kind is Kind.CODES:
            return "Stored codes"
        if station.kind is Kind.ASK:
            return self.knowledge.checks[station.checks[0]].name if len(station.checks) == 1 else "Danger signs"
        if station.kind is Kind.BRANCH:
            return self._entry(station)
        if not station.checks:
            return f"{NOTHING_TELLS}: do them from the top, prove each"
        repairs = [[self.knowledge.repairs[name] for name in row.repairs] for row in station.rows]
        kinds = [{self.knowledge.causes[cause].kind for one in row for cause in one.removes} for row in repairs]
        touched = station.number == 1 and sum(CauseKind.SLIP in one for one in kinds) * 2 > len(kinds)
        return f"{self._place(station)}{': what the service touched' if touched else ''}"

    def _entry(self, station: Station) -> str:
        """The codes that lead to a branch, and what they mean."""
        checks = [(self.knowledge.checks[check], result) for check, result in station.entry]
        codes = ", ".join(runs([code for check, result in checks for code in check.codes.get(result, ())]))
        names = [_lower(check.results[result] if len(check.results) > 2 else check.name) for check, result in checks]
        what = "; ".join(dict.fromkeys(names))
        if not codes:
            return what[:1].upper() + what[1:]
        return f"{codes}: {what}" if len(station.entry) < 3 else codes

    def _place(self, station: Station) -> str:
        """Where the reader is: engine and key, car, tools."""
        if station.drives:
            return "On the road"
        known = self.knowledge
        needs = [known.set_ups[name] for name in station.set_up]
        runs = any(known.checks[check].runs_engine for check in station.checks)
        if runs and not any(need.engine_off for need in needs):
            engine = "Cranking" if self.dead else "Engine running"
        else:
            engine = "Key on, engine off" if any(need.power for need in needs) else "Engine off"
        names = [need.short or _lower(need.name) for need in needs if need.short or not need.power]
        return ", ".join([engine, *names]) if needs or runs else f"{engine}, hood open"

    def _notices(self, station: Station) -> Iterable[Notice]:
        """The cautions of a station, the gravest first: of its state, its checks, its repairs."""
        known = self.knowledge
        if station.kind is Kind.ASK:
            return ()
        here = [row for rows in by_check(station.rows) if not self._elsewhere(station, rows) for row in rows]
        names = [name for need in station.set_up for name in known.set_ups[need].cautions]
        names += [name for row in here if row.check for name in known.checks[row.check].cautions]
        for repair in (known.repairs[name] for row in here for name in row.repairs):
            names += repair.cautions
            names += [name for procedure in repair.procedures for name in known.procedures[procedure].cautions]
        notices = [notice(known.cautions[name]) for name in dict.fromkeys(names)]
        return sorted(notices, key=lambda one: GRAVEST_FIRST.index(one.word))

    def _lines(self, station: Station) -> Iterable[Line]:
        if station.kind is Kind.CODES:
            panel = self.knowledge.panels[self.knowledge.checks[station.rows[0].check].panel or ""]
            yield Line(panel.name, panel.do, CODES_AT_END, (GO_TO_CODES,), "")
            return
        for rows in by_check(station.rows):
            check = self.knowledge.checks.get(rows[0].check)
            if check and (step := self._elsewhere(station, rows)):
                yield Line("", "", "", (f"{STEP} {step}: {_lower(check.name)}",), "", plain=True)
                continue
            if check is None:
                look = how = ""
            else:
                instruction = (check.aloud if station.kind is Kind.ASK else check.do) or ""
                look, how = check.name, "" if check.id in self.told else instruction
                self.told.add(check.id)
            for k, row in enumerate(rows):
                results = [check.results[result] for result in row.results] if check else []
                found = "; or ".join(map(_lower, results))
                span = len(rows) if k == 0 else 0
                yield Line(look, how if k == 0 else "", found, self._do(row), self._fixed(row), span, check is None)

    def _elsewhere(self, station: Station, rows: list[Row]) -> int:
        """For rows of the code table, the step of the way down where the same rows stand; 0 if nowhere."""
        return self.places.get(tuple(rows), 0) if station.number in self.table and rows[0].check else 0

    def _do(self, row: Row) -> tuple[str, ...]:
        if row.advice is not None:
            return (self.knowledge.dispositions[row.advice].name,)
        out: list[str] = []
        for name in row.repairs:
            what = repair_name(self.knowledge.repairs[name])
            out.append(f"{NOT_FIXED}: {_lower(what)}" if out else what)
        if row.stays_off:
            known = self.knowledge.complaints.values()
            charts = " or ".join(f"“{one.name}”" for one in known if one.reports.get(row.check) in row.results)
            out.append(f"{OTHER_CHART} {charts}." if charts and not out else STAYS_OFF)
        return tuple(out)

    def _fixed(self, row: Row) -> str:
        if row.advice is not None:
            return _lower(self.knowledge.dispositions[row.advice].within)
        proofs = [self.knowledge.repairs[name].proof for name in row.repairs]
        shown = [(proof.check, proof.result) for proof in proofs]
        if not row.check:  # nothing was seen, so only that the complaint is gone shows that this was it
            reports = self.knowledge.complaints[self.ladder.complaint].reports
            shown += [(name, self.knowledge.checks[name].expected) for name in reports]
        return "; ".join(self._result(*one, named=one[0] != row.check) for one in dict.fromkeys(shown))

    def _result(self, check: str, result: str, named: bool) -> str:
        """A result, after the name of its check if `named`."""
        told = self.knowledge.checks[check]
        return f"{_lower(told.name)}: {_lower(told.results[result])}" if named else _lower(told.results[result])


def repair_name(repair: Repair) -> str:
    """The name of a repair; a specialist's says that the car is handed over."""
    own = repair.level is not Level.SPECIALIST or repair.name.startswith(HAND)
    return repair.name if own else f"{HAND}: {_lower(repair.name)}"


def notice(caution: Caution) -> Notice:
    """A caution in its two forms."""
    return Notice(caution.id, caution.word.value, caution.reminder or caution.avoid.rstrip("."), caution.text)


def runs(codes: Sequence[str]) -> list[str]:
    """Codes in order, runs of three and more shortened."""
    out: list[list[str]] = []
    for code in sorted(set(codes)):
        if out and code in _following(out[-1][-1]):
            out[-1].append(code)
        else:
            out.append([code])
    return [f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in out]


def _following(code: str) -> tuple[str, str]:
    """The code that follows in sixteens, and in tens as they are mostly given out: P0309, P0310."""
    decimal = f"{code[0]}{int(code[1:]) + 1:04d}" if code[1:].isdigit() else ""
    return f"{code[0]}{int(code[1:], 16) + 1:04X}", decimal


def in_signs(text: str) -> str:
    """Degrees as on a gauge: the files spell `degC`, which is easy to type."""
    return text.replace(" degC", " °C").replace(" degF", " °F")


def _lower(text: str) -> str:
    """The text as it stands inside a sentence, degrees in signs; short forms such as MAP stay."""
    text = in_signs(text)
    return text if text[1:2].isupper() or text[:2] == "D " else text[:1].lower() + text[1:]
