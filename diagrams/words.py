"""A ladder put into words: what sheet, text version, flowchart and tap-through page print, one string per place.

All of them read this, so that they say the same with the same numbers.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from comeback.diagrams.notices import Notice, common, gravest_first, notice, shared
from comeback.diagrams.sheet import Line, Sheet, Spoken, Step
from comeback.engine.case.result_words import lower_first, results_alone
from comeback.engine.charts.ladder import Kind, Ladder, Row, Sign, Station, by_check
from comeback.engine.walk.walk import begin_walk
from comeback.kb.schema import KnowledgeBase, Repair
from comeback.kb.vocabulary import Audience, CauseKind, Disposition, EngineOff, Level

DOWN = "all OK, or not on this car"
NO_CODES = "no codes, or none of the table"
CODES_AT_END = "one of those in the code table at the end"
GO_TO_CODES = "Go on at its step. Several codes: the topmost first."
OTHER_CODES = "other codes"
NOTE_CODES = "Write them down, go on below."
NOTHING = ("nothing", "none")
NOTHING_FOUND = "nothing found, or not fixed"
NOTHING_TELLS = "No test for these"
NOT_FIXED = "Not fixed"
STEP = "First do step"
CLEAR = "everyone away from the car, switch nothing on, call the fire department; go on only when it is safe"
STAYS_OFF = "Engine stays off until this is fixed. Not fixed: STOP, call the foreman."
OTHER_CHART = "Engine stays off. STOP, call the foreman; go on with the chart"
HAND = "Hand over"
OFF = {
    EngineOff.REPAIRED: "Do not start or crank this engine until what was found is fixed, and then only to prove it.",
    EngineOff.LOOKED: "Do not start this engine until everything that can be checked with it off has been checked.",
}
HYBRID = "Hybrid: the engine shuts off by itself. Keep it running as the maker says (service mode)."
HURRY = "Smoke, flames or leaking fuel: everybody away from the car, then call the fire department. Then go on here"
CANNOT_TELL = "The caller cannot tell, or nothing fits: do not drive, we call you back."
NOBODY = "none of these"


def sheet_of(ladder: Ladder, knowledge: KnowledgeBase) -> Sheet:
    """The chart of a ladder in words."""
    words = _Words(ladder, knowledge)
    steps = [words.step(station) for station in ladder.stations]
    often = common([step.all_cautions for step in steps])
    done = knowledge.services[ladder.service]
    service, only = done.plain, "" if done.only_if or not knowledge.not_covered else ", gasoline engine"
    parts = (ladder.complaint, *((ladder.service,) if len(knowledge.services) > 1 else ()), ladder.audience.value)
    sheet = Sheet(
        name="-".join(parts),
        title=knowledge.complaints[ladder.complaint].name,
        after=f"after {'an' if service[0] in 'aeio' else 'a'} {service}{only}",
        signs=tuple(words.sign(sign) for sign in ladder.dangers),
        common=often,
        steps=tuple(step.without(often) for step in steps),
        figures=figures(ladder),
    )
    if ladder.audience is Audience.BAY:
        return replace(sheet, now=words.own_danger())
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
        self.hybrid_told = False
        self.dead = begin_walk(knowledge, ladder.service, ladder.complaint, ladder.audience).view.dead
        self.places = {tuple(rows): station.number for station in ladder.trunk for rows in by_check(station.rows)}

    def sign(self, sign: Sign) -> str:
        """A danger sign in words that need nothing before them."""
        return in_signs(results_alone(self.knowledge.checks[sign.check], sign.results))

    def own_danger(self) -> str:
        """What comes before all else if the complaint itself may burn people or ruin the engine; empty if not."""
        reports = self.knowledge.complaints[self.ladder.complaint].reports.items()
        seen = [(self.knowledge.checks[name], result) for name, result in reports]
        burns = [check.results[result] for check, result in seen if result in check.fire]
        stays = {check.engine_off[result] for check, result in seen if result in check.engine_off}
        return f"{burns[0]} now: {CLEAR}." if burns else next((OFF[one] for one in EngineOff if one in stays), "")

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
        above, rows = self._cautions(station)
        lines = tuple(self._lines(station, rows))
        down = {Kind.ASK: NOBODY, Kind.CODES: NO_CODES, Kind.BRANCH: NOTHING_FOUND}.get(station.kind, DOWN)
        return Step(
            station.number,
            self._title(station),
            ", ".join(state),
            above,
            lines,
            down if any(line.look for line in lines) else NOT_FIXED.lower(),
            station.then,
            decision=station.kind is Kind.CODES,
            codes=coded,
            note=self._note(station),
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
        causes = [[self.knowledge.causes[name] for one in row for name in one.removes] for row in repairs]
        slips = [any(c.kind is CauseKind.SLIP and c.service == self.ladder.service for c in row) for row in causes]
        touched = station.number == 1 and sum(slips) * 2 > len(slips)
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
        needs = [self.knowledge.set_ups[name] for name in station.set_up]
        if runs := self._runs(station):
            engine = "Cranking" if self.dead else "Engine running"
        else:
            engine = "Key on, engine off" if any(need.power for need in needs) else "Engine off"
        names = [need.short or _lower(need.name) for need in needs if need.short or not need.power]
        return ", ".join([engine, *names]) if needs or runs else f"{engine}, hood open"

    def _runs(self, station: Station) -> bool:
        """True if the engine runs or cranks at the station, the car standing."""
        known = self.knowledge
        off = any(known.set_ups[name].engine_off for name in station.set_up)
        return not (off or station.drives) and any(known.checks[check].runs_engine for check in station.checks)

    def _note(self, station: Station) -> str:
        """How the engine of a hybrid is kept running, at the first step that needs it."""
        if self.hybrid_told or self.dead or station.kind is Kind.ASK or not self._runs(station):
            return ""
        self.hybrid_told = True
        return HYBRID

    def _cautions(self, station: Station) -> tuple[tuple[Notice, ...], list[tuple[Notice, ...]]]:
        """Those of the state and of all the looks, then the others of each look; the gravest first."""
        looks = by_check(station.rows)
        if station.kind is Kind.ASK:
            return (), [() for _ in looks]
        needed = [[] if self._elsewhere(station, rows) else self._needed(rows) for rows in looks]
        codes = station.kind is Kind.CODES
        every = [one for look in needed for one in look] if codes else shared([*filter(None, needed)])
        state = self._notices(name for need in station.set_up for name in self.knowledge.set_ups[need].cautions)
        above = gravest_first((*state, *every))
        return above, [gravest_first(one for one in look if one not in above) for look in needed]

    def _needed(self, rows: list[Row]) -> list[Notice]:
        """The cautions of a look and of the repairs that its rows call for."""
        known = self.knowledge
        names = list(known.checks[rows[0].check].cautions if rows[0].check else ())
        for repair in (known.repairs[name] for row in rows for name in row.repairs):
            names += repair.cautions
            names += [name for procedure in repair.procedures for name in known.procedures[procedure].cautions]
        return self._notices(names)

    def _notices(self, names: Iterable[str]) -> list[Notice]:
        return [notice(self.knowledge.cautions[name]) for name in dict.fromkeys(names)]

    def _lines(self, station: Station, cautions: Iterable[tuple[Notice, ...]]) -> Iterable[Line]:
        if station.kind is Kind.CODES:
            panel = self.knowledge.panels[self.knowledge.checks[station.rows[0].check].panel or ""]
            yield Line(panel.name, panel.do, CODES_AT_END, (GO_TO_CODES,), "", 2)
            yield Line("", "", OTHER_CODES, (NOTE_CODES,), "", 0)
            return
        for rows, own in zip(by_check(station.rows), cautions, strict=True):
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
                line = Line(look, "", found, self._do(row), self._fixed(row), 0, check is None)
                yield line if k else replace(line, how=how, span=len(rows), cautions=own)

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
        """A result, after the name of its check if `named`, or if it only says that there is nothing."""
        told = self.knowledge.checks[check]
        label = _lower(told.results[result])
        return f"{_lower(told.name)}: {label}" if named or label.startswith(NOTHING) else label


def repair_name(repair: Repair) -> str:
    """The name of a repair; a specialist's says that the car is handed over."""
    own = repair.level is not Level.SPECIALIST or repair.name.startswith(HAND)
    return repair.name if own else f"{HAND}: {_lower(repair.name)}"


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
    """The text as it stands inside a sentence, degrees in signs."""
    return lower_first(in_signs(text))
