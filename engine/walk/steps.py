"""What a walk can ask for next: one frozen type per kind of step, as data without sentences."""

from collections.abc import Mapping
from dataclasses import dataclass

from comeback.kb.vocabulary import Disposition


@dataclass(frozen=True)
class ChooseService:
    """Which routine service was done?"""

    services: tuple[str, ...]


@dataclass(frozen=True)
class ChooseComplaint:
    """What does the customer report? Open question first, then the nearest complaint."""

    complaints: tuple[str, ...]


@dataclass(frozen=True)
class ChooseCondition:
    """A vehicle condition that decides which causes and checks exist, asked when it matters."""

    feature: str
    values: tuple[str, ...]


@dataclass(frozen=True)
class DangerScreen:
    """The red flags of the complaint, all on one screen; any of them may be answered.

    `retry`: those that the caller could not tell, asked once more with time to look.
    """

    checks: tuple[str, ...]
    retry: bool = False


@dataclass(frozen=True)
class MakeCheck:
    """One check. `chances`: predicted distribution of its results; `saves`: minutes of repair on average.

    `again`: the result found before, if it fits the rest so badly that a second look is asked for.
    `retry`: it was "don't know" before, and now it would help. `despite`: danger signs that stand and with
    which the engine should be off, although this check runs it.
    """

    check: str
    minutes: float
    saves: float
    chances: tuple[float, ...]
    set_up: tuple[str, ...] = ()
    again: str | None = None
    retry: bool = False
    despite: tuple[str, ...] = ()


@dataclass(frozen=True)
class ReadPanel:
    """Several checks read at one go; what is not mentioned is as expected. `despite`: as of a check."""

    panel: str
    checks: tuple[str, ...]
    minutes: float
    saves: float
    set_up: tuple[str, ...] = ()
    despite: tuple[str, ...] = ()


@dataclass(frozen=True)
class LookRound:
    """Looks in one state of the car, made in this order; one stops at the first that is not right.

    `minutes`: of all of them. `saves`, `set_up`, `despite`: as of a check, for the first.
    """

    checks: tuple[str, ...]
    minutes: float
    saves: float
    set_up: tuple[str, ...] = ()
    despite: tuple[str, ...] = ()


@dataclass(frozen=True)
class TakeOneBack:
    """Two findings that cannot both be true; the walk cannot go on until one is taken back.

    `checks` and the event `numbers` that recorded them, the earlier first; number 0 is the complaint's own.
    """

    checks: tuple[str, str]
    results: tuple[str, str]
    numbers: tuple[int, int]


@dataclass(frozen=True)
class DoRepair:
    """One repair, with the plan it begins: expected minutes, chance that it cures, what follows.

    `bound`: minutes that no order of checks and repairs can beat on average. `despite`: as of a check.
    `set_up`: set-ups that do not stand yet. `sees`: the look that called for it, which the work shows once more.
    `found`: a defect that was surely found is fixed, though most probably more is wrong.
    """

    repair: str
    minutes: float
    cures: float
    expected_minutes: float
    then: tuple[str, ...]
    bound: float = 0.0
    despite: tuple[str, ...] = ()
    set_up: tuple[str, ...] = ()
    sees: str | None = None
    found: bool = False


@dataclass(frozen=True)
class ProveRepair:
    """The check that shows the repair held, or that the complaint is gone; `retry`: nobody could tell before.

    `despite`: as of a check.
    """

    repair: str
    check: str
    result: str
    retry: bool = False
    despite: tuple[str, ...] = ()


@dataclass(frozen=True)
class ProofRound:
    """Several such checks on one screen, each with the result that it must have."""

    repair: str
    checks: tuple[str, ...]
    results: tuple[str, ...]
    despite: tuple[str, ...] = ()


@dataclass(frozen=True)
class Advise:
    """End of the call: the disposition, the floor under it and the flags that set it.

    `first`: what the caller does before the car is driven, read aloud ahead of the advice. `solved`: the check that
    stands for what the caller did alone and what settled the complaint.
    """

    disposition: Disposition
    floor: Disposition
    flags: tuple[str, ...]
    needed: Mapping[Disposition, float]
    first: tuple[str, ...] = ()
    solved: str = ""


@dataclass(frozen=True)
class HandOver:
    """One's own level ends here. `repair` is set if a specialist must do it; `cautions`: what nobody does meanwhile.

    `waits`: the trouble does not show now, and the case stays open until it does.
    """

    reason: str
    repair: str | None = None
    cautions: tuple[str, ...] = ()
    waits: bool = False


@dataclass(frozen=True)
class CloseCase:
    """Complaint gone and repair proven: close with complaint, cause, correction.

    `in_vain`: repairs done after which all stayed as it was; they are no correction. Without any repair it passed by
    itself.
    """

    complaint: str
    causes: tuple[str, ...]
    repairs: tuple[str, ...]
    proven: bool
    in_vain: tuple[str, ...] = ()


@dataclass(frozen=True)
class Finished:
    """Nothing left to do: closed, handed over, or (on the phone) advised."""

    how: str


Step = (
    ChooseService
    | ChooseComplaint
    | ChooseCondition
    | DangerScreen
    | MakeCheck
    | ReadPanel
    | LookRound
    | TakeOneBack
    | DoRepair
    | ProveRepair
    | ProofRound
    | Advise
    | HandOver
    | CloseCase
    | Finished
)


def checks_of(step: Step) -> tuple[str, ...]:
    """The checks that a step asks for, in their order; none of a step that asks for something else."""
    match step:
        case DangerScreen(checks) | ReadPanel(checks=checks) | LookRound(checks) | ProofRound(checks=checks):
            return checks
        case MakeCheck(check=check) | ProveRepair(check=check):
            return (check,)
    return ()
