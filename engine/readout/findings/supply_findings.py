"""Voltages, temperatures and rail pressure -> findings.

Limits that are not in the knowledge files are named here with their source.
"""

from comeback.engine.readout.findings.judging import Judge
from comeback.engine.readout.protocol.car_data import KEY_ON, REST, CarData, Sample

OPEN_CIRCUIT = -30.0  # degC; a sensor without its plug shows -40
RUN_TEN, RUN_FIFTEEN = 600.0, 900.0  # s; conditions of the two coolant checks
SMART_CHARGE = 12.5  # V; smart systems go down to about this on purpose (`charge.window`)
OCV_PER_DEGREE = 0.0024 * 1.8  # V per degC that a rested battery loses below 25 (`batt.ocv.temp`)


def charging(judge: Judge, sample: Sample, data: CarData) -> None:
    """Voltage while running; low ones may be wanted by a smart system."""
    volts = sample.values.get("VOLT")
    if volts is None:
        return
    if SMART_CHARGE <= volts < 13.5:
        judge.withhold(
            "charge-volts", f"{volts:.1f} V: a smart system goes this low on purpose. Load it and look again"
        )
    else:
        judge.reading("charge-volts", f"{volts:.2f}", "engine running")


def cranking(judge: Judge, sample: Sample, data: CarData) -> None:
    """Voltage while cranking."""
    if "VOLT" in sample.values:
        judge.reading("crank-volts", f"{sample.values['VOLT']:.2f}", "while cranking")


def rest(judge: Judge, sample: Sample, data: CarData) -> None:
    """Voltage at rest, corrected to 25 degC."""
    volts, outside = sample.values.get("VOLT"), data.value("AMBIENT")
    if volts is None:
        return
    added = (25 - outside) * OCV_PER_DEGREE if outside is not None else 0.0
    why = f"{volts:.2f} V, {added:+.2f} to compare at 25 degC" if outside is not None else "taken as at 25 degC"
    judge.reading("battery-rest", f"{volts + added:.2f}", why)


def key_on_volts(judge: Judge, sample: Sample, data: CarData) -> None:
    """Ignition on is not at rest."""
    if "VOLT" in sample.values:
        judge.withhold("battery-rest", f"{sample.values['VOLT']:.1f} V with the ignition on is not at rest")


def rail(judge: Judge, sample: Sample, data: CarData) -> None:
    """Direct-injection rail pressure."""
    if "RAIL" in sample.values:
        judge.reading("rail-high", f"{sample.values['RAIL'] / 1000:.2f}", "cranking or idling")


def temperatures(judge: Judge, sample: Sample) -> None:
    """Intake and coolant sensors, in any state."""
    intake, coolant, run = (sample.values.get(key) for key in ("IAT", "ECT", "RUN"))
    if intake is not None and "intake-temp" not in judge.findings:
        judge.reading("intake-temp", f"{intake:.0f}", "-40 is an open circuit" if intake < OPEN_CIRCUIT else "")
    if coolant is None or (sample.state in (KEY_ON, REST) and coolant >= OPEN_CIRCUIT):
        return
    if coolant < OPEN_CIRCUIT:
        judge.reading("warm-temp", f"{coolant:.0f}", "-40 is an open circuit")
        return
    if coolant >= 115 or (run or 0) >= RUN_TEN:
        judge.reading("coolant-temp", f"{coolant:.0f}", f"after {run / 60:.0f} min" if run else "")
    else:
        judge.withhold("coolant-temp", f"{coolant:.0f} degC; settles after 10 min of running (RUN=600)")
    if coolant >= 71 or (run or 0) >= RUN_FIFTEEN:
        judge.reading("warm-temp", f"{coolant:.0f}", f"after {run / 60:.0f} min" if run else "running")
    else:
        judge.withhold("warm-temp", f"{coolant:.0f} degC; settles after 15 min of running (RUN=900)")
