"""Manifold pressure, vacuum, airflow and idle speed -> findings, held against the air outside.

Limits that are not in the knowledge files are named here with their source.
"""

from comeback.engine.readout.findings.judging import Judge, cold
from comeback.engine.readout.protocol.car_data import IDLE, KEY_ON, CarData, Sample

SEA_LEVEL = 101.325
"""Standard pressure at sea level, kPa."""
WEATHER = 3.0
"""How far the weather moves the barometer about the standard value, kPa (from memory)."""
LOW_TARGET, HIGH_TARGET = 600.0, 850.0  # rpm; common practice, no source
MOVES = 10.0  # kPa between engine off and idle that show a sensor alive (common practice)


def standard_pressure(meters: float) -> float:
    """Pressure in kPa of the U.S. Standard Atmosphere 1976 at this height: P0 (1 - h / 145442 ft)^5.255876."""
    return float(SEA_LEVEL * max(1 - meters / (145442 * 0.3048), 0.0) ** 5.255876)


def idle_pressure(judge: Judge, sample: Sample, data: CarData) -> None:
    """Manifold pressure and vacuum at idle; a vacuum is raised by what the air outside is short of sea level."""
    pressure, vacuum, reason = sample.values.get("MAP"), sample.values.get("VAC"), cold(sample)
    if reason:
        for check, value in (("idle-map", pressure), ("idle-vacuum", vacuum)):
            if value is not None:
                judge.withhold(check, reason)
        return
    if pressure is not None:
        judge.reading("idle-map", f"{pressure:.0f}", "absolute, so height does not matter")
    if vacuum is not None:
        outside, told = _outside_pressure(judge, data)
        added = (SEA_LEVEL - outside) / 3.38639 if outside is not None else 0.0
        why = f"gauge {vacuum:.1f}, plus {added:.1f} for {told}" if outside is not None else "taken as at sea level"
        judge.reading("idle-vacuum", f"{vacuum + added:.1f}", why)


def _outside_pressure(judge: Judge, data: CarData) -> tuple[float | None, str]:
    """Pressure of the air at the car in kPa, and who says so; a height is trusted before the car's own item."""
    typed = next((s.values["BARO"] for s in data.samples.values() if s.named and "BARO" in s.values), None)
    if typed is not None:
        return typed, "the barometer typed"
    if judge.around.meters is not None:
        return standard_pressure(judge.around.meters), f"standard air at {judge.around.meters:.0f} m"
    return data.value("BARO"), "the car's own barometer item"


def key_on_map(judge: Judge, sample: Sample, data: CarData) -> None:
    """Manifold pressure against the air outside, engine off."""
    pressure = sample.values.get("MAP")
    if pressure is None:
        return
    outside, told = _outside_pressure(judge, data)
    if outside is None:
        judge.withhold("koeo-map", f"MAP {pressure:.0f} kPa; nothing to compare: give BARO=... or --altitude")
        return
    apart = pressure - outside
    why = f"MAP {pressure:.0f} kPa, {outside:.1f} by {told}"
    if told.startswith("the car's own") and abs(apart) < 3:
        judge.withhold("koeo-map", f"{why}: many cars take it from the same sensor; give BARO=... or --altitude")
    elif told.startswith("standard") and 3 <= abs(apart) < 3 + WEATHER:
        judge.withhold("koeo-map", f"{why}: within what the weather does; give BARO=...")
    else:
        judge.reading("koeo-map", f"{apart:.1f}", why)


def map_follows(judge: Judge, data: CarData) -> None:
    """Whether the sensor tells engine off from idle."""
    off, idle = (data.samples[state].values.get("MAP") if state in data.samples else None for state in (KEY_ON, IDLE))
    if off is None or idle is None:
        return
    why = f"engine off {off:.0f}, idle {idle:.0f} kPa"
    if abs(off - idle) < 1:
        judge.result("map-follows", "fixed", why)
    elif abs(off - idle) >= MOVES:
        judge.result("map-follows", "follows", why)


def idle_speed(judge: Judge, sample: Sample, data: CarData) -> None:
    """Idle against the speed wanted, or against what most engines want."""
    rpm, target = sample.values.get("RPM"), data.value("TARGET")
    if rpm is None:
        return
    apart = rpm - min(max(rpm, LOW_TARGET), HIGH_TARGET)
    if reason := cold(sample):
        judge.withhold("idle-error", f"{reason}; a cold engine idles faster")
    elif target is not None:
        judge.reading("idle-error", f"{rpm - target:.0f}", f"{rpm:.0f} rpm, wanted {target:.0f}")
    elif abs(apart) >= 100:
        usual = f"most engines want {LOW_TARGET:.0f} to {HIGH_TARGET:.0f}"
        judge.reading("idle-error", f"{apart:.0f}", f"{rpm:.0f} rpm; {usual}")
    else:
        judge.withhold("idle-error", f"{rpm:.0f} rpm{'' if apart else ' is usual'}; give the speed wanted: TARGET=700")


def airflow(judge: Judge, sample: Sample, data: CarData) -> None:
    """Airflow at normal idle per liter."""
    flow, liters, rpm = sample.values.get("MAF"), judge.around.liters, sample.values.get("RPM")
    if flow is None:
        return
    if liters is None:
        judge.withhold("maf-idle", f"{flow:.2f} g/s; give the displacement: --liters 2.0")
    elif reason := cold(sample):
        judge.withhold("maf-idle", reason)
    elif rpm is not None and not 500 <= rpm <= 1000:
        first = "fix the idle first, the limits are for normal idle"
        judge.withhold("maf-idle", f"{flow:.2f} g/s at {rpm:.0f} rpm: {first}")
    else:
        judge.reading("maf-idle", f"{flow / liters:.2f}", f"{flow:.2f} g/s in {liters:g} L")
