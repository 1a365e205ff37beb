"""What could be done next and what each choice is worth, in minutes: checks beside repairs.

The value of a check is how much it lowers the expected cost of repair, less what it costs to make
(Howard 1966, information value theory; title page read only); worked by hand in `value_of_information`.
Set-ups are paid once while they last.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from comeback.engine.belief.cause_sets import CauseSets, explanations
from comeback.engine.belief.evidence import Evidence
from comeback.engine.belief.network import Network, Vector
from comeback.engine.belief.predictions import Predictions, predict
from comeback.engine.choosing.lookahead import Decision, Node, Standing, node_of
from comeback.engine.choosing.repair_sequence import Action, RepairCosts, RepairPlan
from comeback.kb.schema import Check, KnowledgeBase, Repair
from comeback.kb.vocabulary import Audience, Tier

HANDLING = 0.5
"""Minutes to read a step on paper or aloud and note its result; each check costs them; judged, no source."""
IN_BAY = 1.5
"""The same at the screen in the bay, with the walk to the place and back; judged, no source."""
BESIDE_WORK = 10.0
"""Minutes that any repair costs beside its work: its screens, the tools, and trust if it was not needed; judged."""
CALL_BACK = 5.0
"""Minutes until the bay has the customer on the phone, for what nobody else knows. Judged, no source."""
NARROW, MOST_NARROW = 0.97, 100
"""Share of the belief, and number of sets, that looking further ahead keeps; judged, for speed."""

Group = tuple[str | None, tuple[str, ...]]
"""A panel's id with its checks, or None with one check."""


@dataclass(frozen=True)
class CheckOption:
    """A check that could be made now, or a panel of checks that are read at one go.

    `checks`: what is answered; `panel`: its id if there is one. `minutes` with handling and the set-ups
    it still needs; `gain`: minutes of repair saved on average, before cost; `chances`: predicted
    distribution of its results, expected first (of a panel: nothing abnormal, then one thing each).
    """

    checks: tuple[str, ...]
    minutes: float
    gain: float
    chances: tuple[float, ...]
    tier: Tier
    panel: str | None = None

    @property
    def net(self) -> float:
        """Minutes saved on average after paying for the check."""
        return self.gain - self.minutes


@dataclass(frozen=True)
class Valuation:
    """Everything a decision looks at: the sets, the repairs' plan, the checks, best net gain first.

    `bound`: expected minutes that no order of checks and repairs can beat (all causes known for free).
    `node` is the same for looking further ahead; its checks are numbered as in `numbers`.
    """

    sets: CauseSets
    plan: RepairPlan
    options: tuple[CheckOption, ...]
    actions: tuple[Action, ...]
    bound: float
    node: Node
    numbers: dict[tuple[str, ...], int]
    costs: RepairCosts

    def restricted(self, checks: Sequence[tuple[str, ...]]) -> Node:
        """The node with only these checks and only the sets that hold NARROW of the belief: quicker to look into."""
        weights = self.sets.weights
        enough = int(np.searchsorted(np.cumsum(weights), NARROW * weights.sum())) + 1
        kept = np.arange(min(enough, MOST_NARROW, weights.size))
        decision, costs = self.node.decision, self.costs.restricted(kept)
        chosen = [self.numbers[names] for names in checks]
        tables = [decision.tables[kept][:, decision.slices[k]] for k in chosen]
        small = Decision(
            np.concatenate(tables, axis=1),
            side_by_side(tables),
            lambda check, standing: decision.price(chosen[check], standing),
            lambda check, standing: decision.after(chosen[check], standing),
            costs.least,
        )
        share = weights[kept] / weights[kept].sum()
        end = float(costs.least(share[None])[0])
        return node_of(small, share, tuple(range(len(chosen))), self.node.standing, end)


def value_options(
    knowledge: KnowledgeBase,
    network: Network,
    evidence: Evidence,
    checks: Collection[str],
    repairs: Collection[str],
    set_up: Collection[str] = (),
    sets: CauseSets | None = None,
    audience: Audience = Audience.BAY,
) -> Valuation:
    """Value every check in `checks` and sequence the `repairs`, given the set-ups that already stand.

    Checks on which no cause of any listed set bears can save nothing and are left out. `sets`: the
    explanations of the evidence, if they are there. `audience`: whose minutes the checks cost.
    """
    sets = sets or explanations(network, evidence)
    names = sets.belief.network.causes
    listed = {names[sets.live[k]] for k in np.flatnonzero(sets.now.any(axis=0))}
    actions = repair_actions(knowledge, sets, _helping(knowledge, listed, repairs), set_up)
    costs = RepairCosts(sets.now, actions, knowledge.settings.hand_over_minutes, BESIDE_WORK)
    plan = costs.plan(sets.weights)
    groups = _telling(knowledge, listed, _groups(knowledge, checks))
    named = tuple(name for _, names in groups for name in names)
    decision = _decision(knowledge, predict(network, sets, named), groups, costs, audience)
    node = node_of(decision, sets.weights, tuple(range(len(groups))), frozenset(set_up), plan.expected_minutes)
    options = tuple(_option(knowledge, node, k, group) for k, group in enumerate(groups))
    return Valuation(
        sets,
        plan,
        tuple(sorted(options, key=lambda option: (-option.net, option.checks))),
        costs.actions,
        costs.bound(sets.weights),
        node,
        {names: k for k, (_, names) in enumerate(groups)},
        costs,
    )


def _helping(knowledge: KnowledgeBase, listed: set[str], repairs: Collection[str]) -> list[Repair]:
    """The repairs of causes in a listed set: no other can shorten a sequence."""
    known = (knowledge.repairs[name] for name in repairs)
    return [repair for repair in known if any(repair.removes[cause] for cause in repair.removes.keys() & listed)]


def set_up_minutes(knowledge: KnowledgeBase, needed: Collection[str], standing: Collection[str]) -> float:
    """Minutes for the set-ups in `needed` that do not stand yet."""
    return sum(knowledge.set_ups[name].minutes for name in needed if name not in standing)


def repair_actions(
    knowledge: KnowledgeBase, sets: CauseSets, repairs: Sequence[Repair], standing: Collection[str]
) -> tuple[Action, ...]:
    """Repairs with their whole price: work, parts at the shop's rate, set-ups, and the proof."""
    names = sets.belief.network.causes
    column = {names[cause]: k for k, cause in enumerate(sets.live)}
    cures = np.zeros((len(repairs), len(sets.live)))
    for row, repair in zip(cures, repairs, strict=True):
        for cause, chance in repair.removes.items():
            if cause in column:
                row[column[cause]] = chance
    prices = (max(repair_minutes(knowledge, repair, standing), 0.5) for repair in repairs)
    return tuple(Action(repair.id, price, row) for repair, price, row in zip(repairs, prices, cures, strict=True))


def repair_minutes(knowledge: KnowledgeBase, repair: Repair, standing: Collection[str]) -> float:
    """Minutes of a repair with everything that hangs on it."""
    proof = knowledge.checks[repair.proof.check]
    needed = {*repair.set_up, *proof.set_up}
    return (
        repair.minutes + knowledge.parts_minutes(repair) + proof.minutes + set_up_minutes(knowledge, needed, standing)
    )


def _decision(
    knowledge: KnowledgeBase, predictions: Predictions, groups: list[Group], costs: RepairCosts, audience: Audience
) -> Decision:
    """The decision as look-ahead sees it: tables side by side, prices by what stands, and ending by repair."""
    tables = [_outcomes(predictions, names) for _, names in groups]
    needs = [frozenset(s for name in names for s in knowledge.checks[name].set_up) for _, names in groups]
    own = [own_minutes(knowledge, names, audience) for _, names in groups]

    def price(check: int, standing: Standing) -> float:
        """Minutes of the check with the set-ups that do not stand yet."""
        return own[check] + set_up_minutes(knowledge, needs[check], standing)

    def after(check: int, standing: Standing) -> Standing:
        """The set-ups standing after the check: it may end some and needs its own."""
        return knowledge.set_ups_after(standing, needs[check])

    whole = np.concatenate(tables, axis=1) if tables else np.zeros((costs.members.shape[0], 0))
    return Decision(whole, side_by_side(tables), price, after, costs.least)


def side_by_side(tables: Sequence[Vector]) -> tuple[slice, ...]:
    """Columns of each table when they stand side by side."""
    edges = np.cumsum([0, *(table.shape[1] for table in tables)]).tolist()
    return tuple(slice(a, b) for a, b in pairwise(edges))


def _option(knowledge: KnowledgeBase, node: Node, number: int, group: Group) -> CheckOption:
    """One check or panel with its price here and what it saves."""
    panel, names = group
    tier = knowledge.panels[panel].tier if panel else knowledge.checks[names[0]].tier
    chances = tuple(node.chances[node.decision.slices[number]].tolist())
    price = node.decision.price(number, node.standing)
    return CheckOption(names, price, max(0.0, node.saving(number)), chances, tier, panel)


def own_minutes(knowledge: KnowledgeBase, checks: tuple[str, ...], audience: Audience = Audience.BAY) -> float:
    """Minutes of a check, or of a panel's checks at one go, with handling and without set-ups."""
    check = knowledge.checks[checks[0]]
    work = knowledge.panels[check.panel].minutes if check.panel else check.minutes
    return work + handling(check, audience)


def handling(check: Check, audience: Audience = Audience.BAY) -> float:
    """Minutes around a check, whatever it shows: what only the customer knows costs the bay a call back."""
    if audience is Audience.PHONE:
        return HANDLING
    return IN_BAY + (CALL_BACK if check.asks_customer else 0.0)


def _groups(knowledge: KnowledgeBase, checks: Collection[str]) -> list[Group]:
    """Checks by panel; a check without one stands alone."""
    panels: dict[str, list[str]] = {}
    groups: list[Group] = []
    for name in checks:
        panel = knowledge.checks[name].panel
        if panel is None:
            groups.append((None, (name,)))
        else:
            panels.setdefault(panel, []).append(name)
    return groups + [(panel, tuple(names)) for panel, names in panels.items()]


def _telling(knowledge: KnowledgeBase, listed: Collection[str], groups: list[Group]) -> list[Group]:
    """The groups with a check whose result hangs on the set: all others show the same whichever is true."""
    shown = set[str]().union(*(knowledge.causes[cause].shows for cause in listed))
    return [group for group in groups if not shown.isdisjoint(group[1])]


def _outcomes(predictions: Predictions, names: tuple[str, ...]) -> Vector:
    """Chance of each outcome for each set, shape (S, outcomes).

    A panel's outcomes are: nothing abnormal, or one abnormal result of one check; two at once are
    shared out among them.
    """
    if len(names) == 1:
        return predictions.of(names[0])
    none = np.prod([predictions.of(name)[:, 0] for name in names], axis=0)[:, None]
    single = [none / np.maximum(predictions.of(n)[:, :1], 1e-12) * predictions.of(n)[:, 1:] for n in names]
    table = np.concatenate((none, *single), axis=1)
    return np.asarray(table / np.maximum(table.sum(axis=1, keepdims=True), 1e-300))
