"""The hand-over card as plain data."""

from collections.abc import Sequence
from typing import Any

from comeback.cli.screens import wording
from comeback.engine.handover.card import CardLine, CheckSet, HandoverCard
from comeback.kb.schema import KnowledgeBase


def data(knowledge: KnowledgeBase, card: HandoverCard) -> dict[str, Any]:
    """Everything about the card, names beside ids."""
    return {
        "service": card.service,
        "name": knowledge.services[card.service].name,
        "budget_minutes": card.budget,
        "minutes": card.minutes,
        "assumed_set_ups": list(card.assumed),
        "comebacks_per_1000_services": card.expected,
        "loss_minutes_per_1000_services": card.loss,
        "told_per_1000_services": dict(card.told),
        "not_looked_at_per_1000_services": dict(card.unseen),
        "checks": [_line_data(knowledge, line) for line in card.lines],
        "ways": [_way_data(way) for way in card.ways],
        "advice": list(knowledge.services[card.service].advice),
        "knowledge": knowledge.version,
        "limits": wording.LIMITS,
    }


def _way_data(way: CheckSet) -> dict[str, Any]:
    return {
        "name": way.name,
        "checks": way.checks,
        "minutes": way.minutes,
        "prevented": way.prevented,
        "loss_minutes_spared": way.spared,
        "false_alarms": way.alarms,
    }


def _line_data(knowledge: KnowledgeBase, line: CardLine) -> dict[str, Any]:
    checks = [knowledge.checks[name] for name in line.checks]
    return {
        "checks": list(line.checks),
        "names": [check.name for check in checks],
        "engine": line.stage.name.lower().replace("_", "-"),
        "minutes": line.minutes,
        "set_ups": list(line.set_ups),
        "danger": line.dangerous,
        "cautions": _cautions(knowledge, line),
        "catches": dict(line.catches),
        "normal": [{"check": check, "result": result, "from": cause} for check, result, cause in line.normal],
        "passes_and_looks_alike": list(line.alike),
        "prevents_per_1000_services": line.prevents,
    }


def _cautions(knowledge: KnowledgeBase, line: CardLine) -> Sequence[str]:
    names = [c for s in line.set_ups for c in knowledge.set_ups[s].cautions]
    return list(dict.fromkeys([*names, *(c for name in line.checks for c in knowledge.checks[name].cautions)]))
