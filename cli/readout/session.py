"""One run of `comeback readout`: read from all sources, show, record in the case."""

import argparse
import re
import secrets
import sys
from dataclasses import asdict

from comeback.cli import places
from comeback.cli.config import read_config
from comeback.cli.errors import UsageError
from comeback.cli.exit_codes import DONE, FILES, INTERRUPTED, NOT_UNDERSTOOD
from comeback.cli.files import read_text
from comeback.cli.look import Look, Styled, look_of, show, tell
from comeback.cli.options import knowledge_of, vehicle_of, who_of
from comeback.cli.readout import screens
from comeback.cli.readout.adapter import AdapterError, open_adapter, read_car
from comeback.cli.records.finding import case_id
from comeback.cli.words.search_services import complaint_named, service_named
from comeback.engine.case import facts
from comeback.engine.case.events import Draft
from comeback.engine.case_log.store import SqlCaseLog, open_log
from comeback.engine.readings import read_number
from comeback.engine.readout.findings.code_findings import MILE
from comeback.engine.readout.findings.evidence import Drafts, answer_drafts, evidence_of
from comeback.engine.readout.findings.interpretation import interpret
from comeback.engine.readout.findings.judging import Interpretation, Surroundings
from comeback.engine.readout.protocol.car_data import CarData, merge
from comeback.engine.readout.protocol.framing import read_lines
from comeback.engine.readout.protocol.j1979 import collect
from comeback.engine.readout.text.plain_text import read_plain
from comeback.engine.readout.text.typed_data import read_typed
from comeback.engine.safe_text import as_json
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

_BYTES = re.compile(r"(7E[89A-F] +)?([0-9A-F]{2} *){3,}", re.IGNORECASE)


class Session:
    """What the command line asked for, and what has been read so far."""

    def __init__(self, given: argparse.Namespace) -> None:
        """Raises UsageError, KnowledgeError, CaseLogError, before anything is read."""
        self.given = given
        self.vehicle, self.meters = dict(vehicle_of(given.vehicle)), _meters(given.altitude)
        since = given.since_service
        self.km_since_service = None if since is None else MILE * read_number(since, "mile")
        self.knowledge = knowledge_of(given)
        self.look: Look = look_of(sys.stdout)
        self.walk = Walk(self.knowledge, (), Audience.BAY)
        self.log = self._log()
        self.raw: list[str] = []
        self.sources: list[str] = []
        self.typed_checks: dict[str, str] = {}
        self.trouble, self.code = "", FILES

    def run(self) -> int:
        """Read, decode, conclude, record. Returns an exit code."""
        try:
            data = self.read()
            if not data.says_nothing:
                self.report(data)
        finally:
            if self.log is not None:
                self.log.close()
        if data.says_nothing and not self.trouble:  # an empty evidence must not count as a readout
            self.tell(screens.data_lines(data, self.knowledge, self.look))
            kept = " Nothing was recorded." if self.log is not None else ""
            where = self.given.file or self.given.port or "what was typed"
            self.trouble, self.code = f"{where}: nothing in it could be used.{kept} {screens.TAKEN}", NOT_UNDERSTOOD
        if self.trouble:
            tell(f"comeback: {self.trouble}", stream=sys.stderr)
            return self.code
        return DONE

    def report(self, data: CarData) -> None:
        """Show what was read and what it means; record it if a case is at hand."""
        given, look = self.given, self.look
        build = tuple(sorted({**dict(self.walk.case.vehicle), **self.vehicle}.items()))
        around = Surroundings(given.liters, self.meters, self.km_since_service, build)
        found = interpret(data, self.knowledge, around, self.typed_checks)
        self.tell(screens.data_lines(data, self.knowledge, look))
        self.tell(screens.finding_lines(found, self.knowledge, look))
        recorded: list[str] = []
        if self.log is not None:
            drafts = self.record(data, found)
            recorded = [told.check for told in drafts.recorded]
            self.tell(screens.recorded_lines(drafts, self.walk, look))
        elif found.findings:
            self.tell([("faint", "Not recorded. Add --case ID, or --service ID --complaint ID for a new case.")])
        if given.json:
            car = asdict(evidence_of(data, "", ()))
            del car["raw"], car["source"], car["instead_of"]
            out = {
                "case": self.walk.case.id or None,
                **car,
                "findings": [vars(told) for told in found.findings],
                "not_concluded": [vars(held) for held in found.withheld],
                "remarks": [*data.remarks, *found.remarks],
                "recorded": recorded,
            }
            print(as_json(out, indent=1))

    def tell(self, lines: list[Styled]) -> None:
        """Print lines, unless JSON was asked for."""
        if lines and not self.given.json:
            show(lines, self.look)

    def read(self) -> CarData:
        """Everything from the words, the file and the adapter, as one. Raises BadReading, OSError."""
        given, parts = self.given, []
        if _BYTES.fullmatch(" ".join(given.words)):
            parts.append(collect(read_lines([" ".join(given.words)]), given.at))
        elif given.words:
            typed = read_typed(given.words, [check.id for check in self.knowledge.checks.values() if check.reading])
            self.typed_checks = typed.checks
            parts.append(typed.data)
        if given.words:
            self.took("typed", given.words)
        if given.file:
            lines = read_text(given.file, lenient=True).splitlines()
            plain = read_plain(lines, given.at)
            parts += [plain.data, collect(read_lines(plain.rest), given.at)]
            self.took("file", lines)
        if given.port:
            parts.append(self.read_live())
        return merge(parts)

    def took(self, source: str, lines: list[str]) -> None:
        """Remember where something came from, as it came."""
        self.sources.append(source)
        self.raw += lines

    def read_live(self) -> CarData:
        """From the adapter. Trouble is kept for the end, so that what was read is still shown and recorded."""
        try:
            adapter = open_adapter(self.given.port, self.given.baud)
        except AdapterError as error:
            self.trouble = str(error)
            return CarData()
        if sys.stderr.isatty():
            tell("Reading the car ...", stream=sys.stderr)
        reading = read_car(adapter)
        adapter.close()
        self.trouble = reading.error
        self.code = INTERRUPTED if reading.interrupted else FILES
        self.took("adapter", reading.lines)
        return reading.data()

    def _log(self) -> SqlCaseLog | None:
        """The log of the case that the options name, looked up before the car is read: a wrong id costs no readout.

        Raises UsageError, NoSuchCase, CaseClosed.
        """
        given = self.given
        if given.service:
            given.service = service_named(self.knowledge, given.service)
            given.complaint = complaint_named(self.knowledge, given.complaint)
        log = open_log(places.log_place(given.log)) if given.case or given.service else None
        if given.case and log is not None:
            self.walk = Walk(self.knowledge, log.events(case_id(log, given.case)), Audience.BAY)
            self.walk.draft(facts.Evidence())  # raises CaseClosed
        return log

    def record(self, data: CarData, found: Interpretation) -> Drafts:
        """Save the evidence, then the build of the car, then the findings; returns what went in and what not."""
        at, by = places.now(), who_of(self.given)
        self._open(at, by)
        self._append(self.walk.draft(evidence_of(data, "+".join(self.sources), self.raw), at, by))
        new = [pair for pair in self.vehicle.items() if pair not in self.walk.case.vehicle]
        self._append(*(self.walk.draft(facts.ConditionNamed(name, value), at, by) for name, value in new))
        drafts = answer_drafts(self.walk, found, data.all_codes, at, by, self.given.again)
        self._append(*drafts.events)
        return drafts

    def _open(self, at: str, by: str) -> None:
        """The bay takes a call's case over; a new case gets its service and complaint."""
        if self.walk.events:
            if self.walk.case.audience is not Audience.BAY:
                self._append(self.walk.draft(facts.TakenOver(), at, by))
            return
        assert self.log is not None
        opening = facts.Opened(self.given.car, Audience.BAY, read_config().shop).draft(at, by)
        self.walk = self.walk.after([self.log.open_case(opening, self.knowledge.version, secrets.choice)])
        named = (facts.ServiceNamed(self.given.service), facts.ComplaintNamed(self.given.complaint))
        self._append(*(self.walk.draft(fact, at, by) for fact in named))

    def _append(self, *drafts: Draft) -> None:
        """Record drafts in the case; the walk goes on behind them."""
        if drafts and self.log is not None:
            case = self.walk.case
            self.walk = self.walk.after(self.log.append(case.id, case.last, drafts, self.knowledge.version))


def _meters(altitude: str | None) -> float | None:
    """The altitude in meters; as it is typed, in feet unless it says `m`."""
    if altitude is None:
        return None
    meters = 0.3048 * read_number(altitude, "ft")
    if not -430 <= meters <= 6000:
        raise UsageError(f"--altitude {altitude}: no road is that low or high. Give feet, or meters as 300m.")
    return meters
