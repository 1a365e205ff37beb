"""All that one readout says about a car: codes, freeze frame, readiness, values by engine state.

Values from a log carry no engine state; the nearest engine speed in the log tells it. A state that a
person named is taken as the knowledge files mean it: warm, closed loop, loads off.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from statistics import median

from comeback.engine.readout.protocol.parameters import FUEL_SYSTEM
from comeback.engine.readout.protocol.trouble_codes import LISTED, PENDING, STORED, TYPED

KEY_ON, CRANKING, IDLE, FAST, OTHER, REST = "key-on", "cranking", "idle", "2500", "other", "rest"
STATES = (REST, KEY_ON, CRANKING, IDLE, FAST)
"""States that a person can name; `other` is what fits none of them."""
CONTINUOUS = ("misfire", "fuel system", "components")
"""Monitors that run all the time; the others need a drive."""


@dataclass(frozen=True)
class Readiness:
    """Light commanded on, codes counted, monitors present and those not complete (spark-ignition names)."""

    lamp: bool
    codes: int
    supported: tuple[str, ...]
    incomplete: tuple[str, ...]

    @property
    def all_incomplete(self) -> bool:
        """True if none of the monitors that need a drive has run: memory was cleared just before."""
        slow = [name for name in self.supported if name not in CONTINUOUS]
        return len(slow) >= 2 and all(name in self.incomplete for name in slow)


@dataclass(frozen=True)
class Sample:
    """Values in one engine state, the median by key. `named`: a person named the state, not the engine speed."""

    state: str
    values: Mapping[str, float]
    named: bool = False


@dataclass(frozen=True)
class FreezeFrame:
    """What was stored with the code; `code` None means the car says that no frame is stored."""

    code: str | None
    values: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class CarData:
    """One readout. A kind of codes that was not read is missing from `codes`, which an empty tuple is not."""

    codes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    units: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    samples: Mapping[str, Sample] = field(default_factory=dict)
    freeze_frame: FreezeFrame | None = None
    readiness: Readiness | None = None
    misfires: Mapping[int, int] = field(default_factory=dict)
    supported: frozenset[int] = frozenset()
    cleared: bool = False
    remarks: tuple[str, ...] = ()

    @property
    def says_nothing(self) -> bool:
        """True if there is nothing of the car in it, whatever the remarks say."""
        return self == CarData(remarks=self.remarks)

    @property
    def all_codes(self) -> tuple[str, ...]:
        """Stored, pending, typed and listed codes, each once."""
        kinds = (TYPED, STORED, PENDING, LISTED)
        return tuple(dict.fromkeys(code for kind in kinds for code in self.codes.get(kind, ())))

    def value(self, key: str) -> float | None:
        """The value of `key` in any state, for what does not hang on the state."""
        return next((s.values[key] for s in self.samples.values() if key in s.values), None)


@dataclass
class Gathered:
    """A readout while its lines are read. `values`: (state that a person named or None, key, value) in order."""

    codes: dict[str, dict[str, None]] = field(default_factory=dict)
    units: dict[str, dict[str, None]] = field(default_factory=dict)
    values: list[tuple[str | None, str, float]] = field(default_factory=list)
    frames: dict[int, dict[str, float]] = field(default_factory=dict)
    frame_codes: dict[int, str | None] = field(default_factory=dict)
    statuses: list[Readiness] = field(default_factory=list)
    misfires: dict[int, int] = field(default_factory=dict)
    supported: set[int] = field(default_factory=set)
    cleared: bool = False
    remarks: dict[str, None] = field(default_factory=dict)

    def done(self) -> CarData:
        """All of it; of several control units the readiness with most monitors not complete, then most monitors."""
        return CarData(
            codes={kind: tuple(codes) for kind, codes in self.codes.items()},
            units={unit: tuple(codes) for unit, codes in self.units.items()},
            samples=_samples(self.values),
            freeze_frame=self._freeze_frame(),
            readiness=max(self.statuses, key=lambda s: (len(s.incomplete), len(s.supported)), default=None),
            misfires=self.misfires,
            supported=frozenset(self.supported),
            cleared=self.cleared,
            remarks=tuple(self.remarks),
        )

    def _freeze_frame(self) -> FreezeFrame | None:
        """Frame 0, or the lowest that holds anything: the first trouble, or the fuel or misfire one in its place."""
        numbers = sorted({*self.frames, *self.frame_codes})
        if not numbers:
            return None
        number = next((n for n in numbers if self.frame_codes.get(n) or self.frames.get(n)), numbers[0])
        code = self.frame_codes.get(number, "")  # "": values without a word about their code
        return FreezeFrame(code, self.frames.get(number, {}) if code is not None else {})


def _samples(values: Iterable[tuple[str | None, str, float]]) -> dict[str, Sample]:
    """Samples by engine state: the one named, else by the engine speed nearest before, or the first after."""
    values = list(values)
    rpm = next((value for named, key, value in values if not named and key == "RPM"), None)
    moving = False
    told: dict[str, dict[str, list[float]]] = {}
    by_person: dict[str, dict[str, list[float]]] = {}
    for named, key, value in values:
        if not named and key == "RPM":
            rpm = value
        elif not named and key == "SPEED":
            moving = value > 3
        state = named or (OTHER if rpm is None else state_of_speed(rpm, moving))
        (by_person if named else told).setdefault(state, {}).setdefault(key, []).append(value)
    return {
        state: Sample(
            state,
            {
                key: found[-1] if key == FUEL_SYSTEM else median(found)
                for key, found in {**told.get(state, {}), **by_person.get(state, {})}.items()
            },
            named=state in by_person,
        )
        for state in {**told, **by_person}
    }


def state_of_speed(rpm: float, moving: bool = False) -> str:
    """Engine state by its speed in rpm: 2500 means 2200 to 2800 standing still (common practice, no source)."""
    if rpm < 400:
        return KEY_ON if rpm < 30 else CRANKING
    if rpm < 1800 and not moving:
        return IDLE
    return FAST if 2200 <= rpm <= 2800 and not moving else OTHER


def merge(parts: Iterable[CarData]) -> CarData:
    """Several readouts of one car as one; later values replace earlier ones of the same state and key."""
    out = CarData()
    for part in parts:
        samples = dict(out.samples)
        for state, new in part.samples.items():
            old = samples.get(state, Sample(state, {}))
            samples[state] = Sample(state, {**old.values, **new.values}, new.named or old.named)
        codes = {**out.codes}
        for kind, found in part.codes.items():
            codes[kind] = tuple(dict.fromkeys((*codes.get(kind, ()), *found)))
        out = CarData(
            codes, {**out.units, **part.units}, samples, part.freeze_frame or out.freeze_frame,
            part.readiness or out.readiness, {**out.misfires, **part.misfires}, out.supported | part.supported,
            out.cleared or part.cleared, tuple(dict.fromkeys((*out.remarks, *part.remarks))),
        )  # fmt: skip
    return out
