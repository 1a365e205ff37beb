"""A readout as events of a case: first the evidence itself, then the findings as answers of the bay.

The evidence is saved before anything may clear it, and it is saved whole: a finding is what one
concluded, the evidence is what the car said.
"""

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace

from comeback.engine.case.events import Draft, Event, Kind
from comeback.engine.case.facts import Answered, Evidence
from comeback.engine.readout.findings.judging import Finding, Interpretation, Withheld
from comeback.engine.readout.protocol.car_data import CarData
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience


@dataclass(frozen=True)
class Drafts:
    """Events that record the findings, and for each finding that is not recorded why."""

    events: tuple[Draft, ...]
    recorded: tuple[Finding, ...]
    left_out: tuple[tuple[Finding, str], ...]


def evidence_of(data: CarData, source: str, raw: Sequence[str]) -> Evidence:
    """All that the car said; no raw lines if one of them holds the VIN (service 09, item 02)."""
    return Evidence(
        source=source,
        codes=data.codes,
        units=data.units,
        freeze_frame=data.freeze_frame and asdict(data.freeze_frame),
        readiness=data.readiness and asdict(data.readiness),
        values={state: sample.values for state, sample in data.samples.items()},
        misfires={str(cylinder): count for cylinder, count in data.misfires.items()},
        cleared_seen=data.cleared,
        raw=() if any("4902" in line.replace(" ", "") for line in raw) else tuple(raw),
    )


def has_evidence(events: Iterable[Event]) -> bool:
    """True if what the car said was saved in the case."""
    return any(event.kind == Kind.EVIDENCE for event in events)


def answer_drafts(
    walk: Walk, found: Interpretation, codes: Sequence[str], at: str, by: str, again: bool = False
) -> Drafts:
    """Answers of the bay: all families of codes as one event, every other finding as its own.

    A family that no reading can settle is answered "not known", so that it is not asked again.

    Left out: a check that this state of the car rules out, and one that is already answered since the
    last repair (unless `again`). Raises CaseClosed.
    """
    bay = replace(walk, audience=Audience.BAY)
    reasons = [(finding, _left_out(bay, finding, again)) for finding in found.findings]
    fitting = [finding for finding, reason in reasons if reason is None]
    left = tuple((finding, reason) for finding, reason in reasons if reason is not None)
    families: list[Finding | Withheld] = [f for f in fitting if walk.knowledge.checks[f.check].codes]
    families += [held for held in found.withheld if held.asked and _left_out(bay, held, again) is None]
    drafts = [_draft(bay, families, at, by, codes)] if families else []
    drafts += [_draft(bay, [finding], at, by) for finding in fitting if finding not in families]
    return Drafts(tuple(drafts), tuple(fitting), left)


def _left_out(walk: Walk, finding: Finding | Withheld, again: bool) -> str | None:
    """Why the finding is not recorded; None if it is."""
    check = walk.knowledge.checks[finding.check]
    if Audience.BAY not in check.audience:
        return "not a check of the bay"
    if not walk.view.makes_sense(check):
        return "does not go with what is already known"
    answer = walk.case.answer(finding.check, walk.case.epoch)
    if answer is None or answer.result is None or again:
        return None
    if isinstance(finding, Finding) and answer.result == finding.result:
        return "already answered, the same"
    return f"already answered, then: {check.results.get(answer.result, answer.result)}"


def _draft(walk: Walk, group: Sequence[Finding | Withheld], at: str, by: str, codes: Sequence[str] = ()) -> Draft:
    results = {f.check: f.result if isinstance(f, Finding) else None for f in group}
    readings = {f.check: f.reading for f in group if isinstance(f, Finding) and f.reading}
    why = {f.check: f.why for f in group if f.why}
    return walk.draft(Answered(results, readings, codes=tuple(codes), by_readout=why), at, by)
