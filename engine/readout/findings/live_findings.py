"""Live values in known engine states -> findings, as a careful technician reads them.

Not valid in open loop, cold, or in an unknown state: then the check is held back. Limits that are
not in the knowledge files are named here with their source.
"""

from collections.abc import Callable

from comeback.engine.readout.findings import air_findings as air
from comeback.engine.readout.findings.judging import Judge, not_valid, totals
from comeback.engine.readout.protocol.car_data import CRANKING, FAST, IDLE, KEY_ON, OTHER, REST, CarData, Sample
from comeback.engine.readout.protocol.parameters import FUEL_SYSTEM

OPEN_CIRCUIT = -30.0  # degC; a sensor without its connector shows -40
RUN_TEN, RUN_FIFTEEN = 600.0, 900.0  # s; conditions of the two coolant checks
SMART_CHARGE = 12.5  # V; smart systems go down to about this on purpose (common practice, no source)
_STATE_NEEDED = frozenset(["STFT1", "LTFT1", "STFT2", "LTFT2", "MAP", "MAF", "VOLT", "VAC", "RPM", "RAIL"])
_Rule = Callable[[Judge, Sample, CarData], None]


def judge_values(judge: Judge, data: CarData) -> None:
    """Every rule on every sample that was given."""
    samples = data.samples
    for state, rules in _RULES.items():
        for rule in rules if state in samples else ():
            rule(judge, samples[state], data)
    for sample in samples.values():
        _temperatures(judge, sample)
    air.map_follows(judge, data)
    stray = samples.get(OTHER)
    if stray and stray.named and (keys := ", ".join(key for key in stray.values if key in _STATE_NEEDED)):
        text = f"{keys}: say in which engine state: put idle, 2500, key-on, cranking or rest before it."
        judge.remarks[text] = None


def _trim(check: str) -> _Rule:
    """The rule of a fuel trim check: the worse bank, short and long trim added up."""

    def rule(judge: Judge, sample: Sample, data: CarData) -> None:
        banks = totals(sample)
        if not banks:
            return
        if reason := not_valid(sample):
            judge.withhold(check, reason)
            return
        worst = max(banks.values(), key=abs)
        why = ", ".join(f"bank {bank} {total:+.1f} %" for bank, total in banks.items())
        raised = sample.values.get("MAP", 0) >= 45 or sample.values.get("RPM", 0) > air.HIGH_TARGET + 100
        if check == "trim-idle" and abs(worst) < 10 and raised and judge.speed_density:
            hides = "an engine without a MAF sensor hides a leak from its trims; look at MAP and idle"
            judge.withhold(check, f"{why}: {hides}")
            return
        loop = "closed loop" if FUEL_SYSTEM in sample.values else "taken as warm and closed loop"
        judge.reading(check, f"{worst:.1f}", f"{why}, worse bank; {loop}")

    return rule


def _split(judge: Judge, sample: Sample, data: CarData) -> None:
    """Whether short and long trim pull against each other, in the bank in which they differ most."""
    values = sample.values
    keys = [(f"STFT{bank}", f"LTFT{bank}") for bank in (1, 2)]
    pairs = [(values[short], values[long]) for short, long in keys if short in values and long in values]
    if not pairs:
        return
    if reason := not_valid(sample):
        judge.withhold("trim-split", reason)
        return
    short, long = max(pairs, key=lambda pair: abs(pair[0] - pair[1]))
    against = short * long < 0 and abs(short - long) >= 8
    judge.result("trim-split", "against" if against else "together", f"short {short:+.1f}, long {long:+.1f} %")


def _charging(judge: Judge, sample: Sample, data: CarData) -> None:
    """Voltage while running; low ones may be wanted by a smart system."""
    volts = sample.values.get("VOLT")
    if volts is not None and SMART_CHARGE <= volts < 13.5:
        smart = "a smart system goes this low on purpose. Load it and look again"
        judge.withhold("charge-volts", f"{volts:.1f} V: {smart}")
    elif volts is not None:
        judge.reading("charge-volts", f"{volts:.2f}", "engine running")


def _plain(check: str, key: str, why: str, size: float = 1) -> _Rule:
    """The value as it is, in units `size` times as large as those of its item."""

    def rule(judge: Judge, sample: Sample, data: CarData) -> None:
        if key in sample.values:
            judge.reading(check, f"{sample.values[key] / size:.2f}", why)

    return rule


def _temperatures(judge: Judge, sample: Sample) -> None:
    """Intake and coolant sensors, in any state."""
    intake, coolant, run = (sample.values.get(key) for key in ("IAT", "ECT", "RUN"))
    if intake is not None and "intake-temp" not in judge.findings:
        judge.reading("intake-temp", f"{intake:.0f}", "-40 is an open circuit" if intake < OPEN_CIRCUIT else "")
    if coolant is not None and coolant < OPEN_CIRCUIT:
        judge.reading("warm-temp", f"{coolant:.0f}", "-40 is an open circuit")
    elif coolant is not None and sample.state not in (KEY_ON, REST):
        for check, hot, enough, else_why in (
            ("coolant-temp", 115, RUN_TEN, ""),
            ("warm-temp", 71, RUN_FIFTEEN, "running"),
        ):
            if coolant >= hot or (run or 0) >= enough:
                judge.reading(check, f"{coolant:.0f}", f"after {run / 60:.0f} min" if run else else_why)
            else:
                settles = f"settles after {enough / 60:.0f} min of running (RUN={enough:.0f})"
                judge.withhold(check, f"{coolant:.0f} °C; {settles}")


_RAIL = _plain("rail-high", "RAIL", "cranking or idling", 1000)
_RULES: dict[str, tuple[_Rule, ...]] = {
    REST: (_plain("battery-rest", "VOLT", "taken as at 77 °F (25 °C)"),),
    KEY_ON: (air.key_on_map,),
    CRANKING: (_plain("crank-volts", "VOLT", "while cranking"), _RAIL),
    IDLE: (_trim("trim-idle"), _split, air.idle_pressure, air.idle_speed, air.airflow, _charging, _RAIL),
    FAST: (_trim("trim-2500"), _charging),
}
