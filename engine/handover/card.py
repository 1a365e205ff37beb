"""Before the keys go back: danger first, then the checks that spare most in so many minutes.

Each dangerous slip of the service is looked for by the quickest checks that catch it, however few the
minutes are; what is left of them goes to the checks that spare the greatest loss by comebacks.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from comeback.engine.belief.network import Vehicle
from comeback.engine.errors import UnknownEntry
from comeback.engine.handover.best_subset import Chosen
from comeback.engine.handover.order import Stage, ordered
from comeback.engine.handover.quickest_cover import quickest_cover
from comeback.engine.handover.table import ASSUMED, DANGEROUS, LIKELY, TELLING, Table, runs, seen_now
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Disposition, EngineOff

__all__ = ["LIKELY", "TELLING", "Card", "Line", "Stage", "Way", "hand_over", "seen_now"]

GOALS = {Disposition.TOW: 0.65, Disposition.GET_CLEAR: 0.9}
"""How surely one check of the safety part is to catch a dangerous cause: two of three, nine of ten. Judgement."""
LONGEST = 10.0
"""Minutes with its set-ups and all it needs beyond which a check is no part of the safety part. Judgement."""


@dataclass(frozen=True)
class Line:
    """One line of the card: the checks made together, their minutes without set-ups, and new set-ups.

    `catches`: causes and the chance to catch each, dangerous ones first, then by loss spared; `prevents`
    comebacks per 1000 services, beside the lines before it. `dangerous`: more likely than not it catches
    a dangerous cause that is there. `safety`: of the part that is made whatever the minutes. `normal`:
    (check, result, cause) for results that come from what passes by itself; `alike`: causes that pass by
    themselves and can give the same result as what is looked for.
    """

    checks: tuple[str, ...]
    panel: str | None
    stage: Stage
    minutes: float
    set_ups: tuple[str, ...]
    catches: tuple[tuple[str, float], ...]
    prevents: float
    dangerous: bool
    safety: bool
    normal: tuple[tuple[str, str, str], ...]
    alike: tuple[str, ...]


@dataclass(frozen=True)
class Way:
    """A set of checks under a name: how many and its minutes; of 1000 services the comebacks prevented, the
    minutes of loss spared by that, and the cars kept although nothing is to be found."""

    name: str
    checks: int
    minutes: float
    prevented: float
    spared: float
    alarms: float


@dataclass(frozen=True)
class Card:
    """The hand-over of one service.

    `expected` comebacks per 1000 services by the `causes` that a check can prevent, and the `loss` in
    minutes that they bring; `told` causes that pass by themselves, with their frequency. `chosen` with
    its proof, the lines in the order to do them, `safety_minutes` of the part made whatever the budget;
    `unseen` dangerous causes that are more likely missed than caught, with the chance to catch each.
    `assumed` set-ups that the car is in already. `ways`: this card, then others beside it.
    """

    service: str
    budget: float
    expected: float
    loss: float
    causes: int
    told: tuple[tuple[str, float], ...]
    assumed: tuple[str, ...]
    chosen: Chosen
    safety_minutes: float
    lines: tuple[Line, ...]
    unseen: tuple[tuple[str, float], ...]
    ways: tuple[Way, ...]

    @property
    def over(self) -> float:
        """Minutes by which the card is longer than asked for."""
        return max(0.0, self.chosen.minutes - self.budget)


def hand_over(knowledge: KnowledgeBase, service: str, budget: float, vehicle: Vehicle = ()) -> Card:
    """The card for this service and budget; with `vehicle` only what such a car has.

    Raises UnknownEntry if there is no such service.
    """
    if service not in knowledge.services:
        raise UnknownEntry("service", service)
    table = Table(knowledge, service, vehicle)
    choice = table.choice
    safety = _safety(table)
    chosen = choice.best(budget, fixed=safety)
    own = table.own_list()
    ways = (
        _way(table, "this card", chosen.options),
        _way(table, "its safety part alone", safety),
        _way(table, "file order", choice.in_order(range(len(table.groups)), budget)),
        _way(table, "service's list", choice.in_order(own, budget)),
        _way(table, "service's list, all of it", choice.in_order(own, np.inf)),
    )
    caught = 1 - choice.missed(chosen.options)
    unseen = tuple((table.causes[c].id, float(caught[c])) for c in table.dangers() if caught[c] < LIKELY)
    told = tuple((cause.id, cause.frequency) for cause in table.told)
    return Card(
        service, budget, float(table.frequency.sum()), float(choice.worth.sum()), len(table.causes),
        told, ASSUMED, chosen, choice.minutes(safety), _lines(table, chosen.options, safety), unseen, ways,
    )  # fmt: skip


def _safety(table: Table) -> tuple[int, ...]:
    """The quickest checks of which one is sure enough for each dangerous cause; none for what no check catches.

    An engine that the service can ruin is run once besides, and the sign of that looked at.
    """
    short = [k for k, o in enumerate(table.choice.options) if table.choice.minutes((k, *o.needs)) <= LONGEST]
    wanted = [some for c in table.dangers() if (some := _sure(table, c, short))]
    stops = {name: table.knowledge.checks[name].engine_off.values() for name in table.stops}
    ruin = [table.place[name] for name, until in stops.items() if EngineOff.REPAIRED in until]
    return quickest_cover(table.choice, [*wanted, ruin] if ruin else wanted)


def _sure(table: Table, c: int, short: Sequence[int]) -> list[int]:
    """Options that are sure enough for a cause: with the engine off if one is, else the surest that there is."""
    catches = {k: float(table.choice.options[k].catches[c]) for k in short}
    sure = [k for k in short if catches[k] >= GOALS[table.causes[c].drive]]
    quiet = [k for k in sure if not any(runs(table.knowledge.checks[name]) for name in table.groups[k])]
    surest = [k for k in sorted(short, key=lambda k: -catches[k])[:1] if catches[k] >= TELLING]
    return quiet or sure or surest


def _way(table: Table, name: str, chosen: Sequence[int]) -> Way:
    prevented = float(table.frequency @ (1 - table.choice.missed(chosen)))
    minutes, spared = table.choice.minutes(chosen), table.choice.spared(chosen)
    return Way(name, len(chosen), minutes, prevented, spared, table.alarms(chosen))


def _lines(table: Table, chosen: Sequence[int], safety: Sequence[int]) -> tuple[Line, ...]:
    """Lines in the order to do them, each with what it prevents beside those before it."""
    out: list[Line] = []
    standing: set[str] = set()
    missed = np.ones(len(table.causes))
    for k, stage in ordered(table, chosen):
        option, group = table.choice.options[k], table.groups[k]
        part = float((option.catches * missed) @ table.frequency)
        missed = missed * (1 - option.catches)
        new = tuple(sorted(option.set_ups - standing))
        standing |= option.set_ups
        dangers = [c for c in table.dangers() if option.catches[c] >= LIKELY]
        out.append(Line(
            group, table.knowledge.checks[group[0]].panel, stage, option.minutes, new, _caught(table, k), part,
            bool(dangers), k in safety, _normal(table, group), _same_result(table, group),
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
