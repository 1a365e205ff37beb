"""Manifold pressure, vacuum, airflow and idle speed -> findings.

Limits that are not in the knowledge files are named here with their source.
"""

from comeback.engine.readout.findings import air
from comeback.engine.readout.findings.judging import Judge
from comeback.engine.readout.findings.validity import cold
from comeback.engine.readout.protocol.car_data import IDLE, KEY_ON, CarData, Sample

LOW_TARGET, HIGH_TARGET = 600.0, 850.0  # rpm; `idle.window`, common practice
MOVES = 10.0  # kPa between engine off and idle that show a sensor alive (common practice)


def idle_pressure(judge: Judge, sample: Sample, data: CarData) -> None:
    """Manifold pressure and vacuum at idle; a vacuum is raised by what the air outside is short of sea level."""
    pressure, vacuum = sample.values.get("MAP"), sample.values.get("VAC")
    for check, value in (("idle-map", pressure), ("idle-vacuum", vacuum)):
        if value is not None and (reason := cold(sample)):
            judge.withhold(check, reason)
    if cold(sample):
        return
    if pressure is not None:
        judge.reading("idle-map", f"{pressure:.0f}", "absolute, so height does not matter")
    if vacuum is not None:
        outside, told = outside_pressure(judge, data)
        added = (air.SEA_LEVEL - outside) / 3.38639 if outside is not None else 0.0
        why = f"gauge {vacuum:.1f}, plus {added:.1f} for {told}" if outside is not None else "taken as at sea level"
        judge.reading("idle-vacuum", f"{vacuum + added:.1f}", why)


def outside_pressure(judge: Judge, data: CarData) -> tuple[float | None, str]:
    """Pressure of the air at the car in kPa, and who says so; a height is trusted before the car's own item."""
    metres, weather = judge.around.metres, data.value("WEATHER")
    if weather is not None and metres is not None:
        return air.station_pressure(weather, metres), f"the weather report at {metres:.0f} m"
    typed = next((s.values["BARO"] for s in data.samples.values() if s.named and "BARO" in s.values), None)
    if typed is not None:
        return typed, "the barometer typed"
    if metres is not None:
        return air.standard_pressure(metres), f"standard air at {metres:.0f} m"
    baro = data.value("BARO")
    return baro, "the car's own barometer item"


def key_on_map(judge: Judge, sample: Sample, data: CarData) -> None:
    """Manifold pressure against the air outside, engine off."""
    pressure = sample.values.get("MAP")
    if pressure is None:
        return
    outside, told = outside_pressure(judge, data)
    if outside is None:
        judge.withhold("koeo-map", f"MAP {pressure:.0f} kPa; nothing to compare: give BARO=... or --altitude")
        return
    apart = pressure - outside
    why = f"MAP {pressure:.0f} kPa, {outside:.1f} by {told}"
    if told.startswith("the car's own") and abs(apart) < 3:
        judge.withhold("koeo-map", f"{why}: many cars take it from the same sensor; give BARO=... or --altitude")
    elif told.startswith("standard") and 3 <= abs(apart) < 3 + air.WEATHER:
        judge.withhold("koeo-map", f"{why}: within what the weather does; give BARO=...")
    else:
        judge.reading("koeo-map", f"{apart:.1f}", why)


def map_follows(judge: Judge, data: CarData) -> None:
    """Whether the sensor tells engine off from idle."""
    off, idle = data.samples.get(KEY_ON), data.samples.get(IDLE)
    if not off or not idle or "MAP" not in off.values or "MAP" not in idle.values:
        return
    one, other = off.values["MAP"], idle.values["MAP"]
    why = f"engine off {one:.0f}, idle {other:.0f} kPa"
    if abs(one - other) < 1:
        judge.result("map-follows", "fixed", why)
    elif abs(one - other) >= MOVES:
        judge.result("map-follows", "follows", why)


def idle_speed(judge: Judge, sample: Sample, data: CarData) -> None:
    """Idle against the speed wanted, or against what most engines want."""
    rpm, target = sample.values.get("RPM"), data.value("TARGET")
    if rpm is None:
        return
    if reason := cold(sample):
        judge.withhold("idle-error", f"{reason}; a cold engine idles faster")
    elif target is not None:
        judge.reading("idle-error", f"{rpm - target:.0f}", f"{rpm:.0f} rpm, wanted {target:.0f}")
    elif rpm > HIGH_TARGET:
        _far(judge, rpm, rpm - HIGH_TARGET)
    elif rpm < LOW_TARGET:
        _far(judge, rpm, rpm - LOW_TARGET)
    else:
        judge.withhold("idle-error", f"{rpm:.0f} rpm is usual; give the speed wanted: TARGET=700")


def _far(judge: Judge, rpm: float, apart: float) -> None:
    if abs(apart) >= 100:
        judge.reading(
            "idle-error", f"{apart:.0f}", f"{rpm:.0f} rpm; most engines want {LOW_TARGET:.0f} to {HIGH_TARGET:.0f}"
        )
    else:
        judge.withhold("idle-error", f"{rpm:.0f} rpm; give the speed wanted: TARGET=700")


def airflow(judge: Judge, sample: Sample, data: CarData) -> None:
    """Airflow at normal idle per litre, with what the engine should draw beside it."""
    flow, litres, rpm = sample.values.get("MAF"), judge.around.litres, sample.values.get("RPM")
    if flow is None:
        return
    if litres is None:
        judge.withhold("maf-idle", f"{flow:.2f} g/s; give the displacement: --litres 2.0")
    elif reason := cold(sample):
        judge.withhold("maf-idle", reason)
    elif rpm is not None and not 500 <= rpm <= 1000:
        judge.withhold(
            "maf-idle", f"{flow:.2f} g/s at {rpm:.0f} rpm: fix the idle first, the limits are for normal idle"
        )
    else:
        why = f"{flow:.2f} g/s in {litres:g} L"
        pressure = sample.values.get("MAP")
        if rpm is not None and pressure is not None:
            kelvin = max(sample.values.get("IAT", 40.0), 0.0) + 273
            expected = air.ideal_airflow(pressure, litres, rpm, kelvin)
            why += f"; {pressure:.0f} kPa and {rpm:.0f} rpm draw about {expected:.1f} g/s"
        judge.reading("maf-idle", f"{flow / litres:.2f}", why)
