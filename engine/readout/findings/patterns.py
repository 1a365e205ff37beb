"""Sentences that a good technician says over a readout; remarks only, never findings.

Trim patterns, sign and limits: `trim.*` of the trade values (a study guide, common practice).
Similar conditions: 40 CFR 86.1806-05(d)(1).
"""

from comeback.engine.readout.findings.judging import Judge
from comeback.engine.readout.findings.validity import not_valid, totals
from comeback.engine.readout.protocol.car_data import FAST, IDLE, CarData, FreezeFrame

NORMAL = 10.0
"""Fuel trim in percent, either way, up to which it counts as normal (common practice, no source)."""
NEAR_RPM, NEAR_LOAD = 375, 20
"""Conditions similar to those of a freeze frame: rpm and percent of load, either way (13 CCR 1968.2, from memory)."""


def name_patterns(judge: Judge, data: CarData) -> None:
    """Add what the values mean together."""
    for sentence in (_trims(data), _banks(data), _speed_density(judge, data), _codes(data), _window(data.freeze_frame)):
        if sentence:
            judge.remarks[sentence] = None


def _trims(data: CarData) -> str | None:
    idle, fast = data.samples.get(IDLE), data.samples.get(FAST)
    if not idle or not fast or not_valid(idle) or not_valid(fast):
        return None
    slow, quick = (max(totals(s).values(), key=abs, default=None) for s in (idle, fast))
    if slow is None or quick is None:
        return None
    if slow >= NORMAL and quick <= slow - 5:
        return "Lean at idle and better at 2500 rpm: air gets in unmeasured; a leak is a big share of a small flow."
    if slow < NORMAL <= quick:
        return "Lean only at 2500 rpm: too little fuel arrives, or the MAF sensor reads low."
    if slow >= NORMAL and quick >= NORMAL:
        return "Lean everywhere: MAF sensor reads low, fuel pressure low, or an exhaust leak ahead of the sensor."
    if slow <= -NORMAL and quick <= -NORMAL:
        return "Rich everywhere: injector leaks, purge open, fuel pressure high, or the MAF sensor reads high."
    if slow <= -NORMAL:
        return "Rich at idle only: an injector drips, purge is open, or cleaner is left."
    if abs(slow) < 5 and idle.values.get("RPM", 0) > 950:
        return "Idle fast, trims near zero: think of the learned idle, or of a leak without a MAF sensor."
    return None


def _banks(data: CarData) -> str | None:
    idle = data.samples.get(IDLE)
    banks = totals(idle) if idle and not not_valid(idle) else {}
    off = [bank for bank, total in banks.items() if abs(total) >= NORMAL]
    if len(banks) == 2 and len(off) == 1:
        return f"Only bank {off[0]} is off: look at that bank."
    return None


def _speed_density(judge: Judge, data: CarData) -> str | None:
    idle = data.samples.get(IDLE)
    if idle and dict(judge.around.vehicle).get("air") == "speed-density" and idle.values.get("MAP", 0) >= 45:
        return "No MAF sensor: a leak shows as high manifold pressure and fast idle, hardly in the trims."
    return None


def _codes(data: CarData) -> str | None:
    codes = set(data.all_codes)
    if {"P0171", "P0174"} <= codes:
        return "Both banks lean: one common cause, such as the MAF sensor, shared leak or fuel pressure."
    if "P0316" in codes:
        return "P0316, misfire in the first 1000 turns: fits cleaner left in the intake."
    if {"P0102", "P0113"} <= codes:
        return "P0102 with P0113: both sensors share the MAF sensor's connector."
    if {"P0313"} <= codes:
        return "P0313: fuel ran low; the service need not be the reason."
    return None


def _window(frame: FreezeFrame | None) -> str | None:
    """Where the fault must not come back: the conditions that the law calls similar."""
    if frame is None or "RPM" not in frame.values:
        return None
    rpm, load, coolant = (frame.values.get(key) for key in ("RPM", "LOAD", "ECT"))
    parts = [f"{max(0, rpm - NEAR_RPM):.0f} to {rpm + NEAR_RPM:.0f} rpm"] if rpm is not None else []
    if load is not None:
        parts.append(f"{max(0, load - NEAR_LOAD):.0f} to {min(100, load + NEAR_LOAD):.0f} % load")
    if coolant is not None:
        parts.append("engine warm" if coolant >= 71 else f"engine as cold as {coolant:.0f} degC")
    return f"To prove the repair, drive in similar conditions: {', '.join(parts)}."
