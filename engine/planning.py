"""What could be done next and what each choice is worth, in minutes: checks beside repairs.

The value of a check is how much it lowers the expected cost of repair, less what it costs to make
(Howard 1966, information value theory; title page read only). Set-ups are paid once while they last.
"""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from comeback.engine.evidence import Evidence
from comeback.engine.hypotheses import Hypotheses, explanations
from comeback.engine.network import Network
from comeback.engine.predictions import predict
from comeback.engine.repair_sequence import Action, RepairCosts, RepairPlan
from comeback.kb.schema import Check, KnowledgeBase, Repair

HANDLING = 0.5
"""Minutes to read a step, walk to it and note its result; every check costs them."""


@dataclass(frozen=True)
class CheckOption:
    """A check that could be made now.

    `minutes` with handling and the set-ups it still needs; `gain`: minutes of repair saved on average, before cost;
    `chances`: predicted distribution of its results, expected first.
    """

    check: str
    minutes: float
    gain: float
    chances: tuple[float, ...]

    @property
    def net(self) -> float:
        """Minutes saved on average after paying for the check."""
        return self.gain - self.minutes


@dataclass(frozen=True)
class Outlook:
    """Everything a decision looks at: the sets, the repairs' plan, the checks, best net gain first."""

    sets: Hypotheses
    plan: RepairPlan
    options: tuple[CheckOption, ...]
    actions: tuple[Action, ...]


def look_ahead(
    knowledge: KnowledgeBase,
    network: Network,
    evidence: Evidence,
    checks: Collection[str],
    repairs: Collection[str],
    set_up: Collection[str] = (),
) -> Outlook:
    """Value every check in `checks` and sequence the `repairs`, given the set-ups that already stand."""
    sets = explanations(network, evidence)
    actions = tuple(repair_action(knowledge, sets, knowledge.repairs[name], set_up) for name in repairs)
    costs = RepairCosts(sets.now, [a for a in actions if a.cures.any()], knowledge.settings.hand_over_minutes)
    plan = costs.plan(sets.weights)
    options = _value_checks(knowledge, network, sets, costs, plan, checks, set_up)
    return Outlook(sets, plan, options, costs.actions)


def set_up_minutes(knowledge: KnowledgeBase, needed: Collection[str], standing: Collection[str]) -> float:
    """Minutes for the set-ups in `needed` that do not stand yet."""
    return sum(knowledge.set_ups[name].minutes for name in needed if name not in standing)


def repair_action(knowledge: KnowledgeBase, sets: Hypotheses, repair: Repair, standing: Collection[str]) -> Action:
    """A repair with its whole price: work, parts at the shop's rate, set-ups, and its proof."""
    proof = knowledge.checks[repair.proof.check]
    parts = repair.parts / knowledge.settings.rate_per_hour * 60
    needed = {*repair.set_up, *proof.set_up}
    minutes = repair.minutes + parts + proof.minutes + set_up_minutes(knowledge, needed, standing)
    names = sets.belief.network.causes
    cures = np.array([repair.removes.get(names[c], 0.0) for c in sets.live])
    return Action(repair.id, max(minutes, 0.5), cures)


def _value_checks(
    knowledge: KnowledgeBase,
    network: Network,
    sets: Hypotheses,
    costs: RepairCosts,
    plan: RepairPlan,
    checks: Collection[str],
    standing: Collection[str],
) -> tuple[CheckOption, ...]:
    if not checks:
        return ()
    predictions = predict(network, sets, tuple(checks))
    joint = sets.weights[:, None] * predictions.chances
    chances = joint.sum(axis=0)
    minutes = costs.evaluate((joint / np.maximum(chances, 1e-300)).T).minutes
    options = []
    for name, columns in predictions.slices.items():
        share = chances[columns]
        after = float(share @ minutes[columns])
        check: Check = knowledge.checks[name]
        price = HANDLING + check.minutes + set_up_minutes(knowledge, check.set_up, standing)
        options.append(CheckOption(name, price, max(0.0, plan.expected_minutes - after), tuple(share.tolist())))
    return tuple(sorted(options, key=lambda option: (-option.net, option.check)))
