"""Before the keys go back: the checks that prevent the most loss in the minutes there are.

Danger weighs by the loss that a caller's advice is weighed with: how often it occurs times the harm it does. A rare
one can cost more minutes than the card has; then it is named, so that nobody takes the card for more than it is.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from comeback.engine.belief.network import Vehicle
from comeback.engine.errors import UnknownEntry
from comeback.engine.handover.order import Stage, ordered
from comeback.engine.handover.table import ASSUMED, DANGEROUS, LIKELY, TELLING, Table
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import EngineOff

__all__ = ["LIKELY", "TELLING", "CardLine", "CheckSet", "HandoverCard", "Stage", "handover_card"]


@dataclass(frozen=True)
class CardLine:
    """One line of the card: the checks made together, their minutes without set-ups, and new set-ups.

    `catches`: causes and the chance to catch each, dangerous ones first, then by loss spared; `prevents`
    comebacks per 1000 services, beside the lines before it. `dangerous`: more likely than not it catches
    a dangerous cause that is there. `normal`: (check, result, cause) for results that come from what passes
    by itself; `alike`: causes that pass by themselves and can give the same result as what is looked for.
    """

    checks: tuple[str, ...]
    panel: str | None
    stage: Stage
    minutes: float
    set_ups: tuple[str, ...]
    catches: tuple[tuple[str, float], ...]
    prevents: float
    dangerous: bool
    normal: tuple[tuple[str, str, str], ...]
    alike: tuple[str, ...]


@dataclass(frozen=True)
class CheckSet:
    """A set of checks under a name: how many and its minutes; of 1000 services the comebacks prevented, the
    minutes of loss spared by that, and the cars kept although nothing is to be found."""

    name: str
    checks: int
    minutes: float
    prevented: float
    spared: float
    alarms: float


@dataclass(frozen=True)
class HandoverCard:
    """The hand-over of one service.

    `expected` comebacks per 1000 services by the `causes` that a check can prevent, and the `loss` in
    minutes that they bring; `told` causes that pass by themselves, with their frequency. The lines in the
    order to do them; `unseen` dangerous causes that no line catches more likely than not, with their
    frequency, the greatest loss first. `assumed` set-ups that the car is in already. `ways`: this card, then
    the service's own list in the same minutes, and all of it.
    """

    service: str
    budget: float
    expected: float
    loss: float
    causes: int
    told: tuple[tuple[str, float], ...]
    assumed: tuple[str, ...]
    lines: tuple[CardLine, ...]
    unseen: tuple[tuple[str, float], ...]
    ways: tuple[CheckSet, ...]

    @property
    def minutes(self) -> float:
        """Minutes of all lines, set-ups included."""
        return self.ways[0].minutes


def handover_card(knowledge: KnowledgeBase, service: str, budget: float, vehicle: Vehicle = ()) -> HandoverCard:
    """The card for this service and budget; with `vehicle` only what such a car has.

    Raises UnknownEntry if there is no such service.
    """
    if service not in knowledge.services:
        raise UnknownEntry("service", service)
    table = Table(knowledge, service, vehicle)
    choice, own = table.choice, table.own_list()
    chosen = choice.best(budget, _watched(table), own)
    ways = (
        _way(table, "this card", chosen),
        _way(table, "service's list", choice.in_order(own, budget)),
        _way(table, "service's list, all of it", choice.in_order(own, float("inf"))),
    )
    told = tuple((cause.id, cause.frequency) for cause in table.told)
    return HandoverCard(
        service, budget, float(table.frequency.sum()), float(choice.worth.sum()), len(table.causes),
        told, ASSUMED, _lines(table, chosen), _unseen(table, chosen), ways,
    )  # fmt: skip


def _watched(table: Table) -> list[int]:
    """The sign to watch as the engine starts, where this service can ruin it: the oil lamp after an oil change.

    Made where it fits, unless the service's own list spares more without it. Common practice, no source.
    """
    stops = [name for name in table.stops if EngineOff.REPAIRED in table.knowledge.checks[name].engine_off.values()]
    return [max((table.place[name] for name in stops), key=lambda k: table.choice.spared((k,)))] if stops else []


def _unseen(table: Table, chosen: Sequence[int]) -> tuple[tuple[str, float], ...]:
    missed = table.choice.missed(chosen)
    left = [c for c in table.dangers() if 1 - missed[c] < LIKELY]
    return tuple(
        (table.causes[c].id, table.causes[c].frequency) for c in sorted(left, key=lambda c: -table.choice.worth[c])
    )


def _way(table: Table, name: str, chosen: Sequence[int]) -> CheckSet:
    prevented = float(table.frequency @ (1 - table.choice.missed(chosen)))
    minutes, spared = table.choice.minutes(chosen), table.choice.spared(chosen)
    return CheckSet(name, len(chosen), minutes, prevented, spared, table.alarms(chosen))


def _lines(table: Table, chosen: Sequence[int]) -> tuple[CardLine, ...]:
    """Lines in the order to do them, each with what it prevents beside those before it."""
    out: list[CardLine] = []
    made: list[int] = []
    for k, stage in ordered(table, chosen):
        option, group = table.choice.options[k], table.groups[k]
        before = table.choice.missed(made)
        new = tuple(sorted(option.set_ups - table.choice.standing(made)))
        made.append(k)
        out.append(CardLine(
            group, table.knowledge.checks[group[0]].panel, stage, option.minutes, new, _caught(table, k),
            float((before - table.choice.missed(made)) @ table.frequency),
            any(option.catches[c] >= LIKELY for c in table.dangers()),
            _normal(table, group), _same_result(table, group),
        ))  # fmt: skip
    return tuple(out)


def _caught(table: Table, k: int) -> tuple[tuple[str, float], ...]:
    catches = table.choice.options[k].catches
    grave = [cause.drive >= DANGEROUS and catches[c] >= LIKELY for c, cause in enumerate(table.causes)]
    order = sorted(range(len(table.causes)), key=lambda c: (not grave[c], -catches[c] * table.choice.worth[c]))
    return tuple((table.causes[c].id, float(catches[c])) for c in order if catches[c] > 0)


def _normal(table: Table, group: Sequence[str]) -> tuple[tuple[str, str, str], ...]:
    """Normal results of the checks, each with the cause that passes by itself and mostly gives it."""
    out = []
    for name in group:
        check = table.knowledge.checks[name]
        for result in (r for r in check.names if r in table.normal[name]):
            place = check.names.index(result)
            known = [cause for cause in table.told if name in cause.shows]
            most = max(known, key=lambda cause: cause.frequency * table.knowledge.chances(cause.id, name)[place])
            out.append((name, result, most.id))
    return tuple(out)


def _same_result(table: Table, group: Sequence[str]) -> tuple[str, ...]:
    return tuple(cause.id for cause in table.told if table.shown(group, cause) >= TELLING)
