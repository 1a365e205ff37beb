"""The charts of a service as plain data for the page: stations by number, and the words of each entry once."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

from comeback.diagrams.notices import gravest_first, notice
from comeback.diagrams.sheet import Sheet, Spoken, Step
from comeback.diagrams.words import repair_name
from comeback.engine.charts.ladder import Kind, Ladder, Row, Station
from comeback.kb.schema import Check, KnowledgeBase

Data = dict[str, Any]


def page_data(charts: Sequence[tuple[Ladder, Sheet]], knowledge: KnowledgeBase, likely: Sequence[str]) -> Data:
    """What `page.js` reads: the charts, and every check, repair and caution they name, once.

    `likely`: complaints that the service can cause, the likeliest first; they are offered first.
    """
    tables = _Tables(knowledge)
    shown = [tables.chart(ladder, sheet) for ladder, sheet in charts]
    service = knowledge.services[charts[0][0].service]
    named = dict.fromkeys(ladder.complaint for ladder, _ in charts)
    return {
        "service": {"id": service.id, "name": service.name, "after": charts[0][1].after},
        "knowledge": knowledge.version[:12],
        "limits": charts[0][1].limits,
        "likely": [name for name in likely if name in named],
        "words": {name: " ".join(knowledge.complaints[name].words) for name in named},
        "charts": shown,
        **tables.used(),
    }


class _Tables:
    """Entries by id, each put into words once, at its first use."""

    def __init__(self, knowledge: KnowledgeBase) -> None:
        self.knowledge = knowledge
        self.checks: dict[str, Data] = {}
        self.repairs: dict[str, Data] = {}
        self.cautions: dict[str, list[str]] = {}

    def used(self) -> Data:
        """The entries that the charts name."""
        return {"checks": self.checks, "repairs": self.repairs, "cautions": self.cautions}

    def chart(self, ladder: Ladder, sheet: Sheet) -> Data:
        """A chart with the numbers and titles of its sheet."""
        advice, often = ladder.advice, {one.id for one in sheet.common}
        return {
            "id": ladder.complaint,
            "reader": ladder.audience.value,
            "title": sheet.title,
            "now": sheet.now,
            "stop": sheet.stop,
            "signs": [[self.check(sign.check), list(sign.results)] for sign in ladder.dangers],
            "steps": [self._step(*both, often) for both in zip(ladder.stations, sheet.steps, strict=True)],
            "flags": [*self.knowledge.services[ladder.service].red_flags, *self._complaint(ladder).red_flags],
            "reports": {self.check(name): seen for name, seen in self._complaint(ladder).reports.items()},
            "end": list(sheet.end),
            "advice": "" if advice is None else self.knowledge.dispositions[advice].name,
            "spoken": {one.name: _said(one) for one in sheet.spoken},
            "figures": sheet.figures,
            "heads": list(sheet.heads),
        }

    def _complaint(self, ladder: Ladder) -> Any:
        return self.knowledge.complaints[ladder.complaint]

    def _step(self, station: Station, step: Step, often: Collection[str]) -> Data:
        known = self.knowledge
        rows: dict[str, list[Data]] = {}
        for k, row in enumerate(station.rows):
            rows.setdefault(row.check or str(k), []).append(self._row(row))
        names = [name for need in station.set_up for name in known.set_ups[need].cautions]
        own = [known.checks[check].cautions for check in station.checks]
        if station.kind is Kind.CODES:
            often = {name for look in own for name in look}
        if station.kind is not Kind.ASK:  # those of one look stand with it
            names += [name for look in own for name in look if name in often or all(name in one for one in own)]
        panel = known.panels.get(known.checks[station.checks[0]].panel or "") if station.checks else None
        return {
            "n": step.number,
            "kind": station.kind.value,
            "title": step.title,
            "state": step.state,
            "cautions": self._told(names),
            "cards": [{"check": self.check(name) if name in known.checks else "", "rows": found}
                      for name, found in rows.items()],
            "panel": [panel.id, panel.do] if panel and station.kind is Kind.CODES else [],
            "exit": {Kind.LOOK: "all OK", Kind.BRANCH: "nothing found"}.get(station.kind, step.exit),
            "note": step.note,
            "then": station.then,
        }  # fmt: skip

    def _row(self, row: Row) -> Data:
        for name in row.repairs:
            self._repair(name)
        advice = row.advice
        told = {
            "results": list(row.results),
            "repairs": list(row.repairs),
            "to": row.to,
            "advice": "" if advice is None else self.knowledge.dispositions[advice].name,
            "off": row.stays_off,
        }
        return {key: value for key, value in told.items() if value}

    def check(self, name: str) -> str:
        """The id of a check that is in the table from now on."""
        if name not in self.checks:
            self.checks[name] = _check(self.knowledge.checks[name])
            self.checks[name]["cautions"] = self._told(self.knowledge.checks[name].cautions)
        return name

    def _repair(self, name: str) -> None:
        if name in self.repairs:
            return
        repair = self.knowledge.repairs[name]
        follow = [self.knowledge.procedures[one] for one in repair.procedures]
        states = [self.knowledge.set_ups[one] for one in repair.set_up]
        cautions = [one for state in states for one in state.cautions]
        cautions += [*repair.cautions, *(one for procedure in follow for one in procedure.cautions)]
        self.repairs[name] = {
            "name": repair_name(repair),
            "set_up": [state.name for state in states],
            "steps": list(repair.steps),
            "then": [[one.name, one.when, one.done_when, *one.steps] for one in follow],
            "put_back": list(repair.put_back),
            "never": repair.never,
            "cautions": self._told(cautions),
            "proof": [self.check(repair.proof.check), repair.proof.result, repair.proof.note],
        }

    def _told(self, names: Iterable[str]) -> list[str]:
        """Cautions, the gravest first, as ids of the table."""
        found = gravest_first(notice(self.knowledge.cautions[name]) for name in names)
        self.cautions |= {one.id: [one.word, one.short, one.full] for one in found}
        return [one.id for one in found]


def _check(check: Check) -> Data:
    return {
        "name": check.name,
        "where": check.point,
        "how": check.do or "",
        "say": check.aloud,
        "results": [[name, words] for name, words in check.results.items()],
        "codes": {result: list(codes) for result, codes in check.codes.items()},
    }


def _said(spoken: Spoken) -> Mapping[str, Sequence[str]]:
    return {"say": [*spoken.say, *spoken.worse], "promise_not": list(spoken.promise_not)}
