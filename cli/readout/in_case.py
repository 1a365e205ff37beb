"""A readout written into a case: the evidence in a commit of its own, then the findings."""

import argparse
import secrets

from comeback.cli import places
from comeback.cli.config import read_config
from comeback.cli.options import who_of
from comeback.cli.words.search_services import complaint_named, service_named
from comeback.engine.case import facts
from comeback.engine.case.events import Draft
from comeback.engine.case_log.store import SqlCaseLog, open_log
from comeback.engine.readout.findings.evidence import Drafts, answer_drafts, evidence_of
from comeback.engine.readout.findings.judging import Interpretation
from comeback.engine.readout.protocol.car_data import CarData
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience


class CaseAtHand:
    """The case that the options name, looked up before the car is read: a wrong id must not cost a readout."""

    def __init__(self, given: argparse.Namespace, knowledge: KnowledgeBase) -> None:
        """Raises UsageError, NoSuchCase, CaseClosed."""
        self.given = given
        self.walk = Walk(knowledge, (), Audience.BAY)
        self.log: SqlCaseLog | None = None
        if given.service:
            given.service = service_named(knowledge, given.service)
            given.complaint = complaint_named(knowledge, given.complaint)
        if given.case or given.service:
            self.log = open_log(places.log_place(given.log))
        if given.case and self.log:
            self.walk = Walk(knowledge, self.log.events(given.case.upper()), Audience.BAY)
            self.walk.draft(facts.Evidence())  # raises CaseClosed

    def close(self) -> None:
        """Let go of the log."""
        if self.log is not None:
            self.log.engine.dispose()

    def record(
        self, data: CarData, found: Interpretation, vehicle: dict[str, str], source: str, raw: list[str]
    ) -> Drafts:
        """Save the evidence, then the build of the car, then the findings; returns what went in and what not."""
        at, by = places.now(), who_of(self.given)
        self._open(at, by)
        self._append([self.walk.draft(evidence_of(data, source, raw), at, by)])
        new = [pair for pair in vehicle.items() if pair not in self.walk.case.vehicle]
        self._append([self.walk.draft(facts.ConditionNamed(name, value), at, by) for name, value in new])
        drafts = answer_drafts(self.walk, found, data.all_codes, at, by, self.given.again)
        self._append(list(drafts.events))
        return drafts

    def _open(self, at: str, by: str) -> None:
        """The bay takes a call's case over; a new case gets its service and complaint."""
        if self.walk.events:
            if self.walk.case.audience is not Audience.BAY:
                self._append([self.walk.draft(facts.TakenOver(), at, by)])
            return
        assert self.log is not None
        opening = facts.Opened(self.given.car, Audience.BAY, read_config().shop).draft(at, by)
        self.walk = self.walk.after([self.log.open_case(opening, self.walk.knowledge.version, secrets.choice)])
        service = self.walk.draft(facts.ServiceNamed(self.given.service), at, by)
        complaint = self.walk.draft(facts.ComplaintNamed(self.given.complaint), at, by)
        self._append([service, complaint])

    def _append(self, drafts: list[Draft]) -> None:
        """Record drafts in the case; the walk goes on behind them."""
        if drafts and self.log is not None:
            case = self.walk.case
            self.walk = self.walk.after(self.log.append(case.id, case.last, drafts, self.walk.knowledge.version))
