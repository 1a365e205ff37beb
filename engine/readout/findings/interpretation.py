"""What a readout means for a case: findings with their band and reason, what was held back, and remarks.

A finding is a check of the knowledge files with its result; the bands are theirs. What is not valid
(open loop, cold, codes just cleared) is held back with the reason instead of concluded. Remarks are
sentences that a good technician says over a readout, never findings. Trim patterns, sign and limits:
from a study guide and common practice.
"""

from collections.abc import Iterator, Mapping

from comeback.engine.readout.findings.code_findings import judge_codes
from comeback.engine.readout.findings.judging import Interpretation, Judge, Surroundings, not_valid, totals
from comeback.engine.readout.findings.live_findings import judge_values
from comeback.engine.readout.protocol.car_data import FAST, IDLE, CarData, FreezeFrame, Sample
from comeback.kb.schema import KnowledgeBase

NORMAL = 10.0
"""Fuel trim in percent, either way, up to which it counts as normal (common practice, no source)."""
NEAR_RPM, NEAR_LOAD = 375, 20
"""Conditions similar to those of a freeze frame: rpm and percent of load, either way (13 CCR 1968.2, from memory)."""
_OF_CODES = (
    ({"P0171", "P0174"}, "Both banks lean: one common cause, such as the MAF sensor, shared leak or fuel pressure."),
    ({"P0316"}, "P0316, misfire in the first 1000 turns: fits cleaner left in the intake."),
    ({"P0102", "P0113"}, "P0102 with P0113: both sensors share the MAF sensor's connector."),
    ({"P0313"}, "P0313: fuel ran low; the service need not be the reason."),
)


def interpret(
    data: CarData, knowledge: KnowledgeBase, around: Surroundings, typed: Mapping[str, str] | None = None
) -> Interpretation:
    """What `data` means. `typed`: readings given by the id of their check, banded as they are."""
    judge = Judge(knowledge, around)
    judge_codes(judge, data)
    judge_values(judge, data)
    for check, text in (typed or {}).items():
        judge.reading(check, text, "typed for this check")
    judge.remarks.update(dict.fromkeys(_sentences(judge, data)))
    return judge.done()


def _sentences(judge: Judge, data: CarData) -> Iterator[str]:
    """What the values mean together."""
    idle, fast = data.samples.get(IDLE), data.samples.get(FAST)
    banks = totals(idle) if idle and not not_valid(idle) else {}
    if idle and banks and fast and not not_valid(fast) and totals(fast):
        yield from _trims(max(banks.values(), key=abs), max(totals(fast).values(), key=abs), idle)
    off = [bank for bank, total in banks.items() if abs(total) >= NORMAL]
    if len(banks) == 2 and len(off) == 1:
        yield f"Only bank {off[0]} is off: look at that bank."
    if idle and judge.speed_density and idle.values.get("MAP", 0) >= 45:
        yield "No MAF sensor: a leak shows as high manifold pressure and fast idle, hardly in the trims."
    yield from [said for codes, said in _OF_CODES if codes <= set(data.all_codes)][:1]
    if data.freeze_frame and "RPM" in data.freeze_frame.values:
        yield _window(data.freeze_frame)


def _trims(slow: float, quick: float, idle: Sample) -> Iterator[str]:
    if slow >= NORMAL and quick <= slow - 5:
        yield "Lean at idle and better at 2500 rpm: air gets in unmeasured; a leak is a big share of a small flow."
    elif slow < NORMAL <= quick:
        yield "Lean only at 2500 rpm: too little fuel arrives, or the MAF sensor reads low."
    elif slow >= NORMAL and quick >= NORMAL:
        yield "Lean everywhere: MAF sensor reads low, fuel pressure low, or an exhaust leak ahead of the sensor."
    elif slow <= -NORMAL and quick <= -NORMAL:
        yield "Rich everywhere: injector leaks, purge open, fuel pressure high, or the MAF sensor reads high."
    elif slow <= -NORMAL:
        yield "Rich at idle only: an injector drips, purge is open, or cleaner is left."
    elif abs(slow) < 5 and idle.values.get("RPM", 0) > 950:
        yield "Idle fast, trims near zero: think of the learned idle, or of a leak without a MAF sensor."


def _window(frame: FreezeFrame) -> str:
    """Where the fault must not come back: the conditions that the law calls similar (40 CFR 86.1806-05(d)(1))."""
    rpm, load, coolant = frame.values["RPM"], frame.values.get("LOAD"), frame.values.get("ECT")
    parts = [f"{max(0, rpm - NEAR_RPM):.0f} to {rpm + NEAR_RPM:.0f} rpm"]
    if load is not None:
        parts.append(f"{max(0, load - NEAR_LOAD):.0f} to {min(100, load + NEAR_LOAD):.0f} % load")
    if coolant is not None:
        parts.append("engine warm" if coolant >= 71 else f"engine as cold as {coolant:.0f} °C")
    return f"To prove the repair, drive in similar conditions: {', '.join(parts)}."
