"""All that one readout told about a car: codes, freeze frame, readiness, values by engine state.

Values from a log carry no engine state; it is told from the nearest engine speed in the log. A
state that a person named is taken as the knowledge files mean it: warm, closed loop, loads off.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from statistics import median

from comeback.engine.readout.protocol import j1979
from comeback.engine.readout.protocol.framing import Framed, Message
from comeback.engine.readout.protocol.monitors import Readiness

KEY_ON, CRANKING, IDLE, FAST, OTHER, REST = "key-on", "cranking", "idle", "2500", "other", "rest"
STATES = (REST, KEY_ON, CRANKING, IDLE, FAST)
"""States that a person can name; `other` is what fits none of them."""

_ALL = (j1979.TYPED, j1979.STORED, j1979.PENDING, j1979.LISTED)


@dataclass(frozen=True)
class Sample:
    """Values in one engine state: the median by key, and the fuel system status if it was told.

    `named`: a person named the state; False if it was told from the engine speed.
    """

    state: str
    values: Mapping[str, float]
    fuel_system: int | None = None
    named: bool = False


@dataclass(frozen=True)
class FreezeFrame:
    """What was stored with the code; `code` None means the car says that no frame is stored."""

    code: str | None
    values: Mapping[str, float] = field(default_factory=dict)
    fuel_system: int | None = None


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
    vin: str = ""
    cleared: bool = False
    remarks: tuple[str, ...] = ()

    @property
    def says_nothing(self) -> bool:
        """True if there is nothing of the car in it, whatever the remarks say."""
        return self == CarData(remarks=self.remarks)

    @property
    def all_codes(self) -> tuple[str, ...]:
        """Stored, pending, typed and listed codes, each once."""
        return tuple(dict.fromkeys(code for kind in _ALL for code in self.codes.get(kind, ())))

    def value(self, key: str) -> float | None:
        """The value of `key` in any state, for what does not hang on the state."""
        return next((s.values[key] for s in self.samples.values() if key in s.values), None)


@dataclass
class _Gathered:
    codes: dict[str, dict[str, None]] = field(default_factory=dict)
    units: dict[str, dict[str, None]] = field(default_factory=dict)
    live: list[j1979.Value | j1979.FuelSystem] = field(default_factory=list)
    frames: dict[int, dict[str, float]] = field(default_factory=dict)
    frame_codes: dict[int, str | None] = field(default_factory=dict)
    frame_systems: dict[int, int] = field(default_factory=dict)
    statuses: list[Readiness] = field(default_factory=list)
    misfires: dict[int, int] = field(default_factory=dict)
    supported: set[int] = field(default_factory=set)
    vin: dict[int, str] = field(default_factory=dict)
    cleared: bool = False
    remarks: dict[str, None] = field(default_factory=dict)


def collect(framed: Framed, state: str | None = None) -> CarData:
    """Everything that the messages say. `state`: the engine state of all live values, if a person named it."""
    got = _Gathered(remarks=dict.fromkeys(framed.remarks))
    for message in framed.messages:
        _gather(got, message)
    if framed.unread:
        got.remarks[f"{framed.unread} lines were not understood, the first: {framed.first_unread!r}"] = None
    return CarData(
        codes={kind: tuple(codes) for kind, codes in got.codes.items()},
        units={unit: tuple(codes) for unit, codes in got.units.items()},
        samples=samples_of(got.live, state),
        freeze_frame=_freeze_frame(got),
        readiness=_worst(got.statuses),
        misfires=got.misfires,
        supported=frozenset(got.supported),
        vin="".join(text for _, text in sorted(got.vin.items()))[-17:],
        cleared=got.cleared or framed.clear_asked,
        remarks=tuple(got.remarks),
    )


def _gather(got: _Gathered, message: Message) -> None:
    for item in j1979.decode(message):
        match item:
            case j1979.Value(_, key, value, frame) if frame is not None:
                got.frames.setdefault(frame, {})[key] = value
            case j1979.FuelSystem(_, status, frame) if frame is not None:
                got.frame_systems[frame] = status
            case j1979.Value() | j1979.FuelSystem():
                got.live.append(item)
            case j1979.Codes(unit, kind, codes):
                got.codes.setdefault(kind, {}).update(dict.fromkeys(codes))
                got.units.setdefault(unit, {}).update(dict.fromkeys(codes))
            case j1979.FrameCode(_, frame, code):
                got.frame_codes[frame] = code or got.frame_codes.get(frame)
            case j1979.Status(_, readiness):
                got.statuses.append(readiness)
            case j1979.Supported(_, _, items):
                got.supported |= set(items)
            case j1979.Misfires(_, cylinder, count):
                got.misfires[cylinder] = max(count, got.misfires.get(cylinder, 0))
            case j1979.VinPart(_, part, text):
                got.vin[part] = text
            case j1979.Cleared():
                got.cleared = True
            case j1979.Unusable(text):
                got.remarks[text] = None


def _worst(statuses: list[Readiness]) -> Readiness | None:
    """Of several control units the one with most monitors not complete, then most monitors."""
    return max(statuses, key=lambda s: (len(s.incomplete), len(s.supported)), default=None)


def _freeze_frame(got: _Gathered) -> FreezeFrame | None:
    """Frame 0, or the lowest that holds anything: the first trouble, or the fuel or misfire one that replaced it."""
    numbers = sorted({*got.frames, *got.frame_codes})
    if not numbers:
        return None
    number = next((n for n in numbers if got.frame_codes.get(n) or got.frames.get(n)), numbers[0])
    values, code = got.frames.get(number, {}), got.frame_codes.get(number)
    if code is None and values and number not in got.frame_codes:
        code = ""  # values without a word about their code
    return FreezeFrame(code, values if code is not None else {}, got.frame_systems.get(number))


def samples_of(live: list[j1979.Value | j1979.FuelSystem], named: str | None) -> dict[str, Sample]:
    """Live items in order -> samples by engine state: the one a person named, else told from the engine speed."""
    values: dict[str, dict[str, list[float]]] = {}
    systems: dict[str, int] = {}
    for item, state in zip(live, [named] * len(live) if named else _states(live), strict=True):
        if isinstance(item, j1979.FuelSystem):
            systems[state or OTHER] = item.status
            values.setdefault(state or OTHER, {})
        else:
            values.setdefault(state or OTHER, {}).setdefault(item.key, []).append(item.value)
    return {
        state: Sample(state, {key: median(v) for key, v in got.items()}, systems.get(state), named is not None)
        for state, got in values.items()
    }


def _states(live: list[j1979.Value | j1979.FuelSystem]) -> list[str]:
    """State of each item by the engine speed nearest before it in the list, else the first after."""
    rpm = next((item.value for item in live if isinstance(item, j1979.Value) and item.key == "RPM"), None)
    moving, out = False, []
    for item in live:
        if isinstance(item, j1979.Value) and item.key == "RPM":
            rpm = item.value
        elif isinstance(item, j1979.Value) and item.key == "SPEED":
            moving = item.value > 3
        out.append(OTHER if rpm is None else state_of_speed(rpm, moving))
    return out


def state_of_speed(rpm: float, moving: bool = False) -> str:
    """Engine state by its speed in rpm: 2500 means 2200 to 2800 standing still (common practice, no source)."""
    if rpm < 30:
        return KEY_ON
    if rpm < 400:
        return CRANKING
    if moving:
        return OTHER
    if rpm < 1800:
        return IDLE
    return FAST if 2200 <= rpm <= 2800 else OTHER


def merge(parts: Iterable[CarData]) -> CarData:
    """Several readouts of one car as one; later values replace earlier ones of the same state and key."""
    out = CarData()
    for part in parts:
        samples = dict(out.samples)
        for state, sample in part.samples.items():
            old = samples.get(state, Sample(state, {}))
            system = sample.fuel_system if sample.fuel_system is not None else old.fuel_system
            samples[state] = Sample(state, {**old.values, **sample.values}, system, sample.named or old.named)
        codes = {**out.codes}
        for kind, found in part.codes.items():
            codes[kind] = tuple(dict.fromkeys((*codes.get(kind, ()), *found)))
        out = CarData(
            codes, {**out.units, **part.units}, samples, part.freeze_frame or out.freeze_frame,
            part.readiness or out.readiness, {**out.misfires, **part.misfires}, out.supported | part.supported,
            part.vin or out.vin, out.cleared or part.cleared, tuple(dict.fromkeys((*out.remarks, *part.remarks))),
        )  # fmt: skip
    return out
