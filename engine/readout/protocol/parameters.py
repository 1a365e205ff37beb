"""Live values of SAE J1979 service 01: what each data item holds, and how a person types it.

Formulas from public tables, a few from memory; the standard was not read. `usual` is what a healthy warm engine shows
(common practice, no source), for reading, never for findings: those use the bands of the knowledge files.
"""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Parameter:
    """One number at the start of a data item: `size` bytes, value = raw * scale + offset in `unit`.

    `item` -1: a person types it, no data item of service 01 holds it.
    """

    item: int
    key: str
    name: str
    unit: str
    size: int
    scale: float
    offset: float = 0.0
    usual: str = ""

    def decode(self, data: bytes) -> float:
        """The value in the item's data bytes, which must be long enough."""
        return int.from_bytes(data[: self.size], "big") * self.scale + self.offset


FUEL_SYSTEM = "FUELSYS"
"""Key of the fuel system status, which is a number like any other value (see `LOOPS`)."""
_SHARE, _TRIM = 100 / 255, 100 / 128
"""Percent for each step of a byte: of a share, and of a trim about 128."""
_NORMAL = "usual both within 10 %, warm"
_TABLE = (
    Parameter(0x03, FUEL_SYSTEM, "Fuel system", "", 1, 1),
    Parameter(0x04, "LOAD", "Calculated load", "%", 1, _SHARE),
    Parameter(0x05, "ECT", "Coolant temperature", "°C", 1, 1, -40, "85 to 105 warm"),
    Parameter(0x06, "STFT1", "Short fuel trim, bank 1", "%", 1, _TRIM, -100, _NORMAL),
    Parameter(0x07, "LTFT1", "Long fuel trim, bank 1", "%", 1, _TRIM, -100, _NORMAL),
    Parameter(0x08, "STFT2", "Short fuel trim, bank 2", "%", 1, _TRIM, -100, _NORMAL),
    Parameter(0x09, "LTFT2", "Long fuel trim, bank 2", "%", 1, _TRIM, -100, _NORMAL),
    Parameter(0x0A, "FP", "Fuel pressure", "kPa", 1, 3),
    Parameter(0x0B, "MAP", "Manifold pressure, absolute", "kPa", 1, 1, 0, "25 to 45 at idle"),
    Parameter(0x0C, "RPM", "Engine speed", "rpm", 2, 0.25, 0, "600 to 850 at warm idle"),
    Parameter(0x0D, "SPEED", "Vehicle speed", "km/h", 1, 1),
    Parameter(0x0E, "TIMING", "Spark advance", "degrees", 1, 0.5, -64),
    Parameter(0x0F, "IAT", "Intake air temperature", "°C", 1, 1, -40, "-40 is an open circuit"),
    Parameter(0x10, "MAF", "Airflow", "g/s", 2, 0.01, 0, "1.0 to 2.2 per litre, idle"),
    Parameter(0x11, "TPS", "Throttle position", "%", 1, _SHARE, 0, "10 to 20 at warm idle, not 0"),
    Parameter(0x1F, "RUN", "Run time since start", "s", 2, 1),
    Parameter(0x21, "MILKM", "Distance with the lamp on", "km", 2, 1),
    Parameter(0x22, "RAILV", "Rail pressure against the manifold", "kPa", 2, 0.079),
    Parameter(0x23, "RAIL", "Rail pressure, direct injection", "kPa", 2, 10, 0, "3400 or more while running"),
    Parameter(0x2C, "EGR", "EGR commanded", "%", 1, _SHARE),
    Parameter(0x2E, "PURGE", "Purge commanded", "%", 1, _SHARE),
    Parameter(0x2F, "FUEL", "Fuel level", "%", 1, _SHARE, 0, "15 to 85 for EVAP"),
    Parameter(0x30, "WARMUPS", "Warm-ups since codes were cleared", "count", 1, 1, 0, "stops at 255"),
    Parameter(0x31, "CLEARKM", "Distance since codes were cleared", "km", 2, 1),
    Parameter(0x33, "BARO", "Barometer", "kPa", 1, 1, 0, "101 at sea level"),
    Parameter(0x42, "VOLT", "Voltage at the computer", "V", 2, 0.001, 0, "13.5 to 14.8 running"),
    Parameter(0x43, "ABSLOAD", "Absolute load", "%", 2, _SHARE),
    Parameter(0x44, "LAMBDA", "Mixture commanded", "lambda", 2, 2 / 65536),
    Parameter(0x45, "RELTPS", "Throttle position, relative", "%", 1, _SHARE),
    Parameter(0x46, "AMBIENT", "Air outside", "°C", 1, 1, -40),
    Parameter(0x4C, "CMDTPS", "Throttle commanded", "%", 1, _SHARE),
    Parameter(0x4D, "MILMIN", "Time with the lamp on", "min", 2, 1),
    Parameter(0x4E, "CLEARMIN", "Time since codes were cleared", "min", 2, 1),
    Parameter(0x5C, "OIL", "Oil temperature", "°C", 1, 1, -40),
    *(
        Parameter(0x14 + i, f"O2S{i + 1}", f"Oxygen sensor {i + 1}", "V", 1, 0.005, 0, "front: swings 0.1 to 0.9")
        for i in range(8)
    ),
    *(Parameter(0x24 + i, f"WR{i + 1}", f"Wide-range sensor {i + 1}", "lambda", 2, 2 / 65536) for i in range(8)),
    Parameter(-1, "VAC", "Manifold vacuum, gauge", "inHg", 3, 1),
    Parameter(-1, "TARGET", "Idle speed wanted", "rpm", 3, 1),
    *(Parameter(-1, f"MIS{i}", f"Misfires, cylinder {i}", "count", 3, 1) for i in range(1, 13)),
)
BY_ITEM: Mapping[int, Parameter] = {p.item: p for p in _TABLE if p.item >= 0}
BY_KEY: Mapping[str, Parameter] = {p.key: p for p in _TABLE}

SIZES: Mapping[int, int] = {
    **dict.fromkeys((0, 32, 64, 96, 128, 160, 192), 4),
    **{item: parameter.size for item, parameter in BY_ITEM.items()},
    **{0x14 + i: 2 for i in range(8)}, **{0x24 + i: 4 for i in range(8)}, **{0x34 + i: 4 for i in range(8)},
    0x01: 4, 0x02: 2, 0x03: 2, 0x12: 1, 0x13: 1, 0x1C: 1, 0x1D: 1, 0x1E: 1, 0x2D: 1, 0x32: 2,
    0x3C: 2, 0x3D: 2, 0x3E: 2, 0x3F: 2, 0x41: 4, 0x47: 1, 0x48: 1, 0x49: 1, 0x4A: 1, 0x4B: 1, 0x4F: 4, 0x50: 4,
    0x51: 1, 0x52: 1, 0x53: 2, 0x54: 2, 0x55: 2, 0x56: 2, 0x57: 2, 0x58: 2, 0x59: 2, 0x5A: 1, 0x5B: 1, 0x5D: 2, 0x5E: 2,
}  # fmt: skip
"""Data bytes of each item, so that several items in one answer can be told apart (from memory)."""

OTHER_NAMES: Mapping[str, str] = {
    "COOLANT": "ECT", "AIRFLOW": "MAF", "VOLTS": "VOLT", "V": "VOLT", "N": "RPM", "BAROMETER": "BARO",
    "THROTTLE": "TPS", "VACUUM": "VAC", "KM/H": "SPEED", "STFT": "STFT1", "LTFT": "LTFT1",
}  # fmt: skip

LOOPS: Mapping[float, str] = {
    0x00: "off", 0x01: "open loop, not warm yet", 0x02: "closed loop", 0x04: "open loop, load or overrun",
    0x08: "open loop, because of a system trouble",
    0x05: "open loop, the text does not say why",  # of plain text only; the standard has no such state
    0x10: "closed loop, but a sensor is in trouble",
}  # fmt: skip
"""Item 03, the fuel system status, one bit at a time (from memory)."""
