"""What could be done next and what each choice is worth, in minutes: checks beside repairs.

The value of a check is how much it lowers the expected cost of repair, less what it costs to make
(Howard 1966, information value theory; title page read only). Set-ups are paid once while they last.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from comeback.engine.evidence import Evidence
from comeback.engine.hypotheses import Hypotheses, explanations
from comeback.engine.network import Network, Vector
from comeback.engine.repair_sequence import Action, RepairCosts, RepairPlan
from comeback.kb.schema import Check, KnowledgeBase, Repair


@dataclass(frozen=True)
class CheckOption:
    """A check that could be made now.

    `minutes` with the set-ups it still needs; `gain`: minutes of repair saved on average, before cost;
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


def predict(network: Network, sets: Hypotheses, check: str) -> Vector:
    """Chance of each result of `check` made now, for each set: shape (sets, results).

    Causes outside a set take part with the chance that they are there too.
    """
    observable = network.observables[check]
    ceiling = np.log(np.maximum(np.cumsum(observable.leak), 1e-300))
    lift = np.zeros((len(sets.live), observable.leak.size))
    column = {cause: k for k, cause in enumerate(sets.live)}
    for cause, chances in observable.links.items():
        at_most = np.minimum(np.cumsum(chances), 1.0)
        p = sets.background[column[cause]] if cause in column else sets.belief.present[cause]
        outside = np.log(np.maximum(1 - p + p * at_most, 1e-300))
        ceiling = ceiling + outside
        if cause in column:
            lift[column[cause]] = np.log(np.maximum(at_most, 1e-300)) - outside
    table = np.exp(ceiling + sets.now @ lift)
    return np.maximum(np.diff(table, axis=1, prepend=0.0), 0.0)


def _value_checks(
    knowledge: KnowledgeBase,
    network: Network,
    sets: Hypotheses,
    costs: RepairCosts,
    plan: RepairPlan,
    checks: Collection[str],
    standing: Collection[str],
) -> tuple[CheckOption, ...]:
    tables: Mapping[str, Vector] = {name: predict(network, sets, name) for name in checks}
    rows, chances = [], {}
    for name, table in tables.items():
        joint = sets.weights[:, None] * table
        chances[name] = joint.sum(axis=0)
        rows.append((joint / np.maximum(chances[name], 1e-300)).T)
    if not rows:
        return ()
    minutes = costs.evaluate(np.concatenate(rows)).minutes
    options, start = [], 0
    for name in tables:
        share = chances[name]
        after = float(share @ minutes[start : start + share.size])
        start += share.size
        check: Check = knowledge.checks[name]
        price = check.minutes + set_up_minutes(knowledge, check.set_up, standing)
        options.append(CheckOption(name, price, max(0.0, plan.expected_minutes - after), tuple(share.tolist())))
    return tuple(sorted(options, key=lambda option: (-option.net, option.check)))
