"""The hand-over card in words, and as one page to tick off before the keys go back."""

from collections.abc import Sequence
from typing import Any

from comeback.diagrams.notices import gravest_first, notice
from comeback.diagrams.sheet import LIMITS
from comeback.engine.handover.card import CardLine, HandoverCard
from comeback.engine.handover.order import Stage
from comeback.engine.handover.table import TELLING
from comeback.kb.schema import KnowledgeBase

STAGES = {
    Stage.OFF: "Engine off",
    Stage.START: "Start",
    Stage.RUNNING: "Engine running",
    Stage.OFF_AGAIN: "Engine off again",
}
MOST_NAMED = 3
"""Causes that are named for a check."""
KEEP = "Anything not OK: keep the car and find the cause."


def page_of(card: HandoverCard, knowledge: KnowledgeBase) -> dict[str, Any]:
    """What the template reads of a card."""
    stages: list[dict[str, Any]] = []
    for number, line in enumerate(card.lines, 1):
        if not stages or stages[-1]["name"] != STAGES[line.stage]:
            stages.append({"name": STAGES[line.stage], "lines": [], "cautions": []})
        check, panel = knowledge.checks[line.checks[0]], knowledge.panels.get(line.panel or "")
        what, how = (panel.name, panel.do) if panel else (check.name, check.do)
        stages[-1]["lines"].append([number, what, how, good(knowledge, line), passing(knowledge, line)])
        stages[-1]["cautions"] += cautions_of(knowledge, line)
    for stage in stages:
        found = gravest_first(notice(knowledge.cautions[name]) for name in stage["cautions"])
        stage["cautions"] = [[one.word, one.short] for one in found]
    service = knowledge.services[card.service]
    unseen = ", ".join(knowledge.causes[cause].name for cause, _ in card.unseen)
    return {
        "title": f"Before the keys go back: {service.name}",
        "head": f"{len(card.lines)} checks, about {card.minutes:.0f} minutes. {KEEP}",
        "stages": stages,
        "tell": list(service.advice),
        "unseen": f"Not checked, and dangerous: {unseen}." if unseen else "",
        "worth": worth(card),
        "limits": LIMITS,
    }


def cautions_of(knowledge: KnowledgeBase, line: CardLine) -> list[str]:
    """Cautions of the set-ups and the checks of a line."""
    set_ups = [caution for name in line.set_ups for caution in knowledge.set_ups[name].cautions]
    return [*set_ups, *(caution for name in line.checks for caution in knowledge.checks[name].cautions)]


def good(knowledge: KnowledgeBase, line: CardLine) -> str:
    """What a check should be."""
    checks = [knowledge.checks[name] for name in line.checks]
    return checks[0].results[checks[0].expected] if len(checks) == 1 else "No code stored or pending"


def passing(knowledge: KnowledgeBase, line: CardLine) -> str:
    """What is no reason to keep the car, and what may look like one."""
    normal = [
        f"{knowledge.checks[check].results[result]} ({knowledge.causes[cause].name}): tell the customer"
        for check, result, cause in line.normal
    ]
    alike = [f"{knowledge.causes[cause].name} can look the same: find out which it is" for cause in line.alike]
    return "; ".join([*normal, *alike])


def catches(knowledge: KnowledgeBase, line: CardLine) -> Sequence[str]:
    """The causes that a check is made for."""
    return [knowledge.causes[cause].name for cause, chance in line.catches if chance >= TELLING][:MOST_NAMED]


def worth(card: HandoverCard) -> str:
    """What the card prevents."""
    return (
        f"By the knowledge, 1000 such services bring {card.expected:.1f} comebacks that a check can prevent; these "
        f"checks prevent {card.prevented:.1f} of them and hold up {card.alarms:.0f} good cars."
    )
