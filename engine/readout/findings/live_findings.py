"""Live values in known engine states -> findings, as a careful technician reads them.

Not valid in open loop, cold, or in an unknown state: then the check is held back. Limits that are
not in the knowledge files are named here with their source.
"""

from collections.abc import Callable

from comeback.engine.readout.findings.air_findings import (
    HIGH_TARGET,
    airflow,
    idle_pressure,
    idle_speed,
    key_on_map,
    map_follows,
)
from comeback.engine.readout.findings.judging import Judge
from comeback.engine.readout.findings.supply_findings import charging, cranking, key_on_volts, rail, rest, temperatures
from comeback.engine.readout.findings.validity import assumed, not_valid, totals
from comeback.engine.readout.protocol.car_data import CRANKING, FAST, IDLE, KEY_ON, OTHER, REST, CarData, Sample


def judge_values(judge: Judge, data: CarData) -> None:
    """Every rule on every sample that was given."""
    samples = data.samples
    for state, rules in _RULES.items():
        if state in samples:
            for rule in rules:
                rule(judge, samples[state], data)
    for sample in samples.values():
        temperatures(judge, sample)
    map_follows(judge, data)
    stray = samples.get(OTHER)
    if stray and stray.values and stray.named:
        keys = ", ".join(key for key in stray.values if key in _STATE_NEEDED)
        if keys:
            judge.remarks[f"{keys}: say in which engine state: put idle, 2500, key-on, cranking or rest before it."] = (
                None
            )


_STATE_NEEDED = frozenset(["STFT1", "LTFT1", "STFT2", "LTFT2", "MAP", "MAF", "VOLT", "VAC", "RPM", "RAIL"])


def _trim(check: str) -> Callable[[Judge, Sample, CarData], None]:
    def rule(judge: Judge, sample: Sample, data: CarData) -> None:
        banks = totals(sample)
        if not banks:
            return
        if reason := not_valid(sample):
            judge.withhold(check, reason)
            return
        worst = max(banks, key=lambda bank: abs(banks[bank]))
        why = ", ".join(f"bank {bank} {total:+.1f} %" for bank, total in banks.items())
        if check == "trim-idle" and abs(banks[worst]) < 10 and _pressure_only(judge, sample):
            judge.withhold(
                check, f"{why}: an engine without a MAF sensor hides a leak from its trims; look at MAP and idle"
            )
            return
        judge.reading(check, f"{banks[worst]:.1f}", f"{why}, worse bank; {assumed(sample)}")

    return rule


def _pressure_only(judge: Judge, sample: Sample) -> bool:
    """A speed-density engine with high manifold pressure or idle: normal trims do not speak against a leak."""
    raised = sample.values.get("MAP", 0) >= 45 or sample.values.get("RPM", 0) > HIGH_TARGET + 100
    return raised and dict(judge.around.vehicle).get("air") == "speed-density"


def _split(judge: Judge, sample: Sample, data: CarData) -> None:
    pairs = [
        (sample.values[f"STFT{bank}"], sample.values[f"LTFT{bank}"])
        for bank in (1, 2)
        if f"STFT{bank}" in sample.values and f"LTFT{bank}" in sample.values
    ]
    if not pairs:
        return
    if reason := not_valid(sample):
        judge.withhold("trim-split", reason)
        return
    short, long = max(pairs, key=lambda pair: abs(pair[0] - pair[1]))
    against = short * long < 0 and abs(short - long) >= 8
    judge.result("trim-split", "against" if against else "together", f"short {short:+.1f}, long {long:+.1f} %")


_RULES: dict[str, tuple[Callable[[Judge, Sample, CarData], None], ...]] = {
    REST: (rest,),
    KEY_ON: (key_on_map, key_on_volts),
    CRANKING: (cranking, rail),
    IDLE: (_trim("trim-idle"), _split, idle_pressure, idle_speed, airflow, charging, rail),
    FAST: (_trim("trim-2500"), charging),
}
