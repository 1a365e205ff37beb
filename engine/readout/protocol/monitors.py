"""Readiness: data item 01, the monitors a car has and those that have not run since codes were cleared.

Bits from `pid.01.*` of the trade values (from memory). A set bit in the last byte means NOT complete.
"""

from dataclasses import dataclass

CONTINUOUS = ("misfire", "fuel system", "components")
SPARK = (
    "catalyst", "heated catalyst", "EVAP", "secondary air", "air conditioning or particle filter",
    "oxygen sensor", "oxygen sensor heater", "EGR or valve timing",
)  # fmt: skip


@dataclass(frozen=True)
class Readiness:
    """Lamp commanded on, codes counted, monitors present and those not complete (spark-ignition names)."""

    lamp: bool
    codes: int
    spark: bool
    supported: tuple[str, ...]
    incomplete: tuple[str, ...]

    @property
    def all_incomplete(self) -> bool:
        """True if none of the monitors that need a drive has run: memory was cleared just before."""
        slow = [name for name in self.supported if name not in CONTINUOUS]
        return len(slow) >= 2 and all(name in self.incomplete for name in slow)


def read_readiness(data: bytes) -> Readiness:
    """The four data bytes of item 01."""
    a, b, c, d = data[:4]
    spark = not b & 0x08
    supported = [name for bit, name in enumerate(CONTINUOUS) if b >> bit & 1]
    incomplete = [name for bit, name in enumerate(CONTINUOUS) if b >> bit & 1 and b >> bit + 4 & 1]
    if spark:
        supported += [name for bit, name in enumerate(SPARK) if c >> bit & 1]
        incomplete += [name for bit, name in enumerate(SPARK) if c >> bit & 1 and d >> bit & 1]
    return Readiness(bool(a & 0x80), a & 0x7F, spark, tuple(supported), tuple(incomplete))
