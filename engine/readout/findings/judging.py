"""Where the rules of a readout put what they conclude, and whether live values may be used at all.

Values count if the engine was warm and in closed loop, in a state that a person or the data names.
"""

from dataclasses import dataclass, field

from comeback.engine.belief.network import Vehicle, fits
from comeback.engine.errors import BadReading
from comeback.engine.readings import band
from comeback.engine.readout.protocol.car_data import Sample
from comeback.engine.readout.protocol.parameters import FUEL_SYSTEM, LOOPS
from comeback.kb.schema import Check, KnowledgeBase

WARM = 70.0
"""Coolant in degC below which trims are worthless (a study guide, common practice)."""


@dataclass(frozen=True)
class Surroundings:
    """What the car does not say: displacement in liters, height in meters, km driven since the service, its build."""

    liters: float | None = None
    meters: float | None = None
    km_since_service: float | None = None
    vehicle: Vehicle = ()


@dataclass(frozen=True)
class Finding:
    """A finding of the readout. `band`: limits of the result; `why`: the values it rests on."""

    check: str
    result: str
    reading: str = ""
    band: str = ""
    why: str = ""


@dataclass(frozen=True)
class Withheld:
    """A check that the values touch but do not settle, and why. `asked`: reading once more would not settle it."""

    check: str
    why: str
    asked: bool = False


@dataclass(frozen=True)
class Interpretation:
    """Everything concluded and everything held back, each check at most once in `told`."""

    findings: tuple[Finding, ...]
    withheld: tuple[Withheld, ...]
    remarks: tuple[str, ...]


@dataclass
class Judge:
    """Collects findings; a check that the knowledge does not have, or that does not fit the car, is left out."""

    knowledge: KnowledgeBase
    around: Surroundings
    findings: dict[str, Finding] = field(default_factory=dict)
    withheld: dict[str, Withheld] = field(default_factory=dict)
    remarks: dict[str, None] = field(default_factory=dict)

    def knows(self, name: str) -> Check | None:
        """The check, if it exists and fits the car."""
        check = self.knowledge.checks.get(name)
        return check if check and fits(check.only_if, self.around.vehicle) else None

    @property
    def speed_density(self) -> bool:
        """True if the car is known to have no MAF sensor."""
        return dict(self.around.vehicle).get("air") == "speed-density"

    def reading(self, name: str, text: str, why: str = "") -> None:
        """A number for a check with bands; one that is impossible becomes a remark."""
        check = self.knows(name)
        if check is None or check.reading is None:
            return
        try:
            banded = band(check, text)
        except BadReading as error:
            self.remarks[f"{check.name}: {error}"] = None
            return
        low, high = check.reading.bands[banded.result]
        limits = f"{low:g} to {high:g} {check.reading.unit}"
        self.findings[name] = Finding(name, banded.result, str(banded), limits, why)

    def result(self, name: str, result: str, why: str, reading: str = "") -> None:
        """A result by its id; one that the knowledge does not have is left out."""
        check = self.knows(name)
        if check and result in check.results:
            self.findings[name] = Finding(name, result, reading, check.results[result], why)

    def withhold(self, name: str, why: str, asked: bool = False) -> None:
        """Not settled, for this reason; `asked` if reading once more would not settle it."""
        if self.knows(name) and name not in self.findings:
            self.withheld[name] = Withheld(name, why, asked)

    def done(self) -> Interpretation:
        """All of it."""
        held = tuple(h for h in self.withheld.values() if h.check not in self.findings)
        return Interpretation(tuple(self.findings.values()), held, tuple(self.remarks))


def cold(sample: Sample) -> str | None:
    """Why an idle value says nothing: the engine is cold, or not known to be warm."""
    coolant = sample.values.get("ECT")
    if coolant is not None and coolant < WARM:
        return f"not valid: coolant {coolant:.0f} °C, needs {WARM:.0f}"
    return None if coolant is not None or sample.named else "not valid: the data does not say if the engine was warm"


def not_valid(sample: Sample) -> str | None:
    """Why trims of this sample say nothing; None if they do."""
    system = sample.values.get(FUEL_SYSTEM)
    if system is not None and system != 0x02:
        return f"not valid: {LOOPS.get(system, f'fuel system status {int(system):02X}')}"
    return None if system is not None and "ECT" not in sample.values else cold(sample)


def totals(sample: Sample) -> dict[int, float]:
    """Short plus long trim by bank, percent; one of them alone stands for both."""
    out = {}
    for bank in (1, 2):
        parts = [sample.values[key] for key in (f"STFT{bank}", f"LTFT{bank}") if key in sample.values]
        if parts:
            out[bank] = sum(parts)
    return out
