"""One run of `comeback readout`: read from all sources, show, record in the case, and only then clear."""

import argparse
import sys
from typing import Any

from comeback.cli import exit_codes
from comeback.cli.look import Look, Styled, look_of, show, tell
from comeback.cli.options import knowledge_of
from comeback.cli.readout import screens
from comeback.cli.readout.adapter import Adapter, AdapterError, open_adapter
from comeback.cli.readout.in_case import CaseAtHand
from comeback.cli.readout.live import LiveReading, Progress, read_car
from comeback.cli.readout.options import check_options
from comeback.cli.text_files import read_text
from comeback.engine.readout.findings.evidence import Drafts, evidence_payload
from comeback.engine.readout.findings.interpretation import interpret
from comeback.engine.readout.findings.judging import Interpretation, Surroundings
from comeback.engine.readout.protocol.car_data import IDLE, CarData, collect, merge
from comeback.engine.readout.protocol.framing import read_lines
from comeback.engine.readout.protocol.vin import BadVin, Vin, read_vin
from comeback.engine.readout.text.plain_text import read_plain
from comeback.engine.readout.text.typed_data import read_typed
from comeback.engine.safe_text import as_json

RUNNING = ("exhaust-gas", "moving-parts")
"""Cautions before the engine runs for a sample."""
CLEARING = ("evidence-lost",)
"""Cautions before codes are erased."""


class Session:
    """What the command line asked for, and what has been read so far."""

    def __init__(self, given: argparse.Namespace) -> None:
        """Raises UsageError, KnowledgeError, CaseLogError, before anything is read."""
        self.given, self.asked = given, check_options(given)
        self.knowledge = knowledge_of(given)
        self.look: Look = look_of(sys.stdout)
        self.case = CaseAtHand(given, self.knowledge)
        self.raw: list[str] = []
        self.sources: list[str] = []
        self.typed_checks: dict[str, str] = {}
        self.adapter: Adapter | None = None
        self.trouble, self.code = "", exit_codes.FILES

    def run(self) -> int:
        """Read, decode, conclude, record, clear. Returns an exit code."""
        try:
            data = self.read()
            if data.says_nothing and not (self.given.vin or self.given.port):
                return self.nothing(data)
            self.report(data)
        finally:
            if self.adapter is not None:
                self.adapter.close()
            self.case.close()
        if self.trouble:
            tell(f"comeback: {self.trouble}", stream=sys.stderr)
            return self.code
        return exit_codes.DONE

    def nothing(self, data: CarData) -> int:
        """Say clearly that nothing was understood; an empty evidence must not count as a readout."""
        self.tell([("faint", line) for text in data.remarks for line in self.look.wrap(text, 4, "  !")])
        where = self.given.file or "what was typed"
        kept = " Nothing was recorded." if self.case.log is not None else ""
        tell(f"comeback: {where}: nothing in it could be used.{kept} {screens.TAKEN}", stream=sys.stderr)
        return exit_codes.NOT_UNDERSTOOD

    def report(self, data: CarData) -> None:
        """Show what was read and what it means; record it if a case is at hand."""
        given, look = self.given, self.look
        vin = self.vin_of(data)
        vehicle = {**dict(self.case.walk.case.vehicle), **self.asked.vehicle}
        around = Surroundings(given.litres, self.asked.metres, given.km_since_service, tuple(sorted(vehicle.items())))
        found = interpret(data, self.knowledge, around, self.typed_checks)
        self.tell(screens.data_lines(data, vin, self.knowledge, look, given.full_vin))
        self.tell([("faint", line) for text in data.remarks for line in look.wrap(text, 4, "  !")])
        self.tell(screens.finding_lines(found, self.knowledge, look))
        drafts = None
        if self.case.log is not None:
            source = "+".join(self.sources)
            drafts = self.case.record(data, found, self.asked.vehicle, source, self.raw, vin)
            walk = self.case.walk
            chances = walk.view.repair_candidates() if walk.case.complaint else []
            self.tell(screens.recorded_lines(drafts, walk.case.id, chances, self.knowledge, look))
            self.clear(data)
        elif found.findings:
            self.tell([("faint", "Not recorded. Add --case ID, or --service ID --complaint ID for a new case.")])
        if given.json:
            out = _as_json(data, vin, found, self.case.walk.case.id, drafts, given.full_vin)
            print(as_json(out, indent=1))

    def tell(self, lines: list[Styled]) -> None:
        """Print lines, unless JSON was asked for."""
        if lines and not self.given.json:
            show(lines, self.look)

    def read(self) -> CarData:
        """Everything from the words, the file and the adapter, as one. Raises BadReading, OSError."""
        parts: list[CarData] = []
        if self.given.words:
            typed = read_typed(
                self.given.words, [check.id for check in self.knowledge.checks.values() if check.reading]
            )
            self.typed_checks = typed.checks
            parts += [typed.data, collect(read_lines(typed.hex_lines), self.given.at)]
            self.took("typed", [*typed.words, *typed.hex_lines])
        if self.given.file:
            lines = _file_lines(self.given.file)
            plain = read_plain(lines, self.given.at)
            parts += [plain.data, collect(read_lines(plain.rest), self.given.at)]
            self.took("file", lines)
        if self.given.port:
            parts.append(self.read_live().data())
        return merge(parts)

    def took(self, source: str, lines: list[str]) -> None:
        """Remember where something came from, as it came."""
        self.sources.append(source)
        self.raw += lines

    def read_live(self) -> LiveReading:
        """From the adapter. Trouble is kept for the end, so that what was read is still shown and recorded."""
        reading = LiveReading()
        try:
            self.adapter = open_adapter(self.given.port, self.given.baud)
            progress = Progress(self.ready, self.tick)
            reading = read_car(self.adapter, self.asked.samples, self.given.seconds, progress)
            self.trouble = reading.error
            self.code = exit_codes.INTERRUPTED if reading.interrupted else exit_codes.FILES
        except AdapterError as error:
            self.trouble = str(error)
        self.tick("")
        self.took("adapter", reading.lines if self.given.full_vin else reading.lines_without_vin)
        return reading

    def tick(self, text: str) -> None:
        """A line that the next one replaces; nothing if nobody watches."""
        if sys.stderr.isatty():
            print(f"\r{text[:78]:78}", end="" if text else "\r", file=sys.stderr, flush=True)

    def ready(self, state: str) -> None:
        """Cautions, then wait until the engine is in this state; without a keyboard go on at once."""
        self.tick("")
        print(self.look.paint(screens.caution_lines(RUNNING, self.knowledge, self.look)), file=sys.stderr)
        what = "Let the warm engine idle, loads off." if state == IDLE else "Hold 2500 rpm in P or N."
        print(f"{what} Sampling {self.given.seconds:g} s.", file=sys.stderr, flush=True)
        if sys.stdin.isatty():
            print("Press Enter when ready. ", end="", file=sys.stderr, flush=True)
            sys.stdin.readline()

    def clear(self, data: CarData) -> None:
        """Erase the codes if that was asked, after the caution."""
        if not self.given.clear_codes:
            return
        if self.trouble or self.adapter is None:
            self.tell([("say", "Codes were not cleared: the readout is not complete. Read the car again.")])
            return
        self.tell(screens.caution_lines(CLEARING, self.knowledge, self.look))
        try:
            self.tell([("say", line) for line in self.look.wrap(self.case.clear(self.adapter, data))])
        except AdapterError as error:
            self.trouble = str(error)

    def vin_of(self, data: CarData) -> Vin | None:
        """The VIN typed, else the one the car told; a car's that cannot be one is left out. Raises BadVin."""
        if self.given.vin:
            return read_vin(self.given.vin)
        try:
            return read_vin(data.vin) if data.vin else None
        except BadVin:
            return None


def _file_lines(name: str) -> list[str]:
    return read_text(name, lenient=True).splitlines()


def _as_json(
    data: CarData, vin: Vin | None, found: Interpretation, case: str, drafts: Drafts | None, full_vin: bool
) -> dict[str, Any]:
    out = evidence_payload(data, "", (), vin, full_vin)
    del out["raw"], out["source"]
    return {
        "case": case or None,
        **out,
        "findings": [vars(told) for told in found.findings],
        "not_concluded": [vars(held) for held in found.withheld],
        "remarks": [*data.remarks, *found.remarks],
        "recorded": [told.check for told in drafts.recorded] if drafts else [],
    }
