"""Whether live values may be used: warm, closed loop, in a state that somebody or the data names."""

from comeback.engine.readout.protocol.car_data import Sample
from comeback.engine.readout.protocol.parameters import FUEL_SYSTEM

WARM = 70.0
"""Coolant in degC below which trims are worthless (trade facts 3.2)."""


def not_valid(sample: Sample) -> str | None:
    """Why trims of this sample say nothing; None if they do."""
    coolant, system = sample.values.get("ECT"), sample.fuel_system
    if system is not None and system != 0x02:
        return f"not valid: {FUEL_SYSTEM.get(system, f'fuel system status {system:02X}')}"
    if coolant is not None and coolant < WARM:
        return f"not valid: coolant {coolant:.0f} degC, needs {WARM:.0f}"
    if system is None and coolant is None and not sample.named:
        return "not valid: the data does not say if the engine was warm and in closed loop (items 03, 05)"
    return None


def cold(sample: Sample) -> str | None:
    """Why an idle value says nothing: the engine is cold, or nobody says that it is warm."""
    coolant = sample.values.get("ECT")
    if coolant is not None and coolant < WARM:
        return f"not valid: coolant {coolant:.0f} degC, needs {WARM:.0f}"
    return None if coolant is not None or sample.named else "not valid: the data does not say if the engine was warm"


def assumed(sample: Sample) -> str:
    """What the trims of a valid sample rest on."""
    return "closed loop" if sample.fuel_system == 0x02 else "taken as warm and closed loop"


def totals(sample: Sample) -> dict[int, float]:
    """Short plus long trim by bank, percent; one of them alone stands for both."""
    out = {}
    for bank in (1, 2):
        parts = [sample.values[key] for key in (f"STFT{bank}", f"LTFT{bank}") if key in sample.values]
        if parts:
            out[bank] = sum(parts)
    return out
