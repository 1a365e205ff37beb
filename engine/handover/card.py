"""Before the keys go back: the checks that prevent the most loss in the minutes there are.

Danger weighs by the loss that a caller's advice is weighed with: how often it occurs times the harm it does. A rare
one can cost more minutes than the card has; then it is named, so that nobody takes the card for more than it is.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from comeback.engine.belief.network import Vehicle
from comeback.engine.errors import UnknownEntry
from comeback.engine.handover.order import Stage, ordered
from comeback.engine.handover.table import DANGEROUS, LIKELY, TELLING, Table
from comeback.kb.rules.bearing import chance_of
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import EngineOff


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
class HandoverCard:
    """The hand-over of one service: the lines in the order to do them, and `minutes` for all, set-ups included.

    Of 1000 services: `expected` comebacks that a check can prevent, how many of them the card has
    `prevented`, and `alarms`, cars kept although nothing is to be found. `told` causes that pass by
    themselves, and `unseen` dangerous causes that no line catches more likely than not, the greatest
    loss first; both with their frequency.
    """

    service: str
    minutes: float
    lines: tuple[CardLine, ...]
    expected: float
    prevented: float
    alarms: float
    told: tuple[tuple[str, float], ...]
    unseen: tuple[tuple[str, float], ...]


def handover_card(knowledge: KnowledgeBase, service: str, budget: float, vehicle: Vehicle = ()) -> HandoverCard:
    """The card for this service and a budget in minutes; with `vehicle` only what such a car has.

    Raises UnknownEntry if there is no such service.
    """
    if service not in knowledge.services:
        raise UnknownEntry("service", service)
    table = Table(knowledge, service, vehicle)
    chosen = table.choice.best(budget, _watched(table), table.own_list())
    missed = table.choice.missed(chosen)
    unseen = sorted((c for c in table.dangers() if 1 - missed[c] < LIKELY), key=lambda c: -table.choice.worth[c])
    return HandoverCard(
        service,
        table.choice.minutes(chosen),
        _lines(table, chosen),
        float(table.frequency.sum()),
        float(table.frequency @ (1 - missed)),
        table.alarms(chosen),
        tuple((cause.id, cause.frequency) for cause in table.told),
        tuple((table.causes[c].id, table.causes[c].frequency) for c in unseen),
    )


def _watched(table: Table) -> list[int]:
    """The sign to watch as the engine starts, where this service can ruin it: oil pressure after an oil change.

    Made where it fits, unless the service's own list spares more without it. Common practice, no source.
    """
    stops = [name for name in table.stops if EngineOff.REPAIRED in table.knowledge.checks[name].engine_off.values()]
    return [max((table.place[name] for name in stops), key=lambda k: table.choice.spared((k,)))] if stops else []


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
            _normal(table, group), tuple(cause.id for cause in table.told if table.shown(group, cause) >= TELLING),
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
        for result in filter(table.normal[name].__contains__, table.knowledge.checks[name].names):
            often = [c.frequency * chance_of(table.knowledge, c.id, name, [result]) for c in table.told]
            out.append((name, result, table.told[often.index(max(often))].id))
    return tuple(out)
