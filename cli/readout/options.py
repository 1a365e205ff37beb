"""What the options of `comeback readout` mean, checked before anything is read."""

import argparse
import re
from dataclasses import dataclass

from comeback.cli.errors import UsageError
from comeback.cli.options import vehicle_of
from comeback.engine.readings import read_number
from comeback.engine.readout.protocol.car_data import FAST, IDLE, STATES


@dataclass(frozen=True)
class Asked:
    """Options with a meaning of their own: states to sample, build of the car, height in metres."""

    samples: tuple[str, ...]
    vehicle: dict[str, str]
    metres: float | None


def check_options(given: argparse.Namespace) -> Asked:
    """Raises UsageError for what does not go together, naming the option and what to type."""
    if not (given.words or given.file or given.port):
        raise UsageError("Nothing to read. Type codes or values (P0171 MAP=52kPa), or add --from FILE or --port PORT.")
    if given.at is not None and given.at not in STATES:
        raise UsageError(f"'{given.at}' is not an engine state. Use one of: {', '.join(STATES)}.")
    samples = tuple(state.strip() for state in given.sample.split(",") if state.strip())
    for state in samples:
        if state not in (IDLE, FAST):
            raise UsageError(f"'{state}' cannot be sampled. Use --sample idle,2500 or just one of them.")
    if bool(given.service) != bool(given.complaint):
        raise UsageError("A new case needs both --service and --complaint. For an old one: --case ID.")
    if given.case and given.service:
        raise UsageError("Either --case for an old case or --service and --complaint for a new one, not both.")
    return Asked(samples, dict(vehicle_of(given.vehicle)), _metres(given.altitude))


def _metres(text: str | None) -> float | None:
    """A height in metres; `ft` converts."""
    if text is None:
        return None
    number = re.sub(r"\s*(ft|m)\s*\Z", "", text, flags=re.IGNORECASE)
    height = read_number(number, "m") * (0.3048 if text.strip().lower().endswith("ft") else 1)
    if not -430 <= height <= 6000:
        raise UsageError(f"--altitude {text}: no road is that low or high. Give meters, or feet as 1000ft.")
    return height
