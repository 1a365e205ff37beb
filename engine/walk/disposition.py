"""Advice on driving: least expected loss, with a floor under it by danger signs.

Losses are lopsided: sending a dangerous car onto the road costs far more than a needless tow. A
red flag sets a floor; "don't know" on a red flag counts as its worse answer. No worse answer to a
red flag ever lowers the urgency: the advice is the most urgent over all ways in which flagged
answers could have been better, the findings as given included. Nor does a calmer past (it began a week
ago, it gets better) ever raise it.
"""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np

from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.exact_posterior import Belief, logs_without
from comeback.engine.belief.network import Network
from comeback.engine.belief.presence import presences_of
from comeback.engine.errors import ImpossibleFindings
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.vocabulary import Disposition, Sureness

MANY_FLAGS = 5
"""With this many red flags raised the advice is GET_CLEAR, whatever the losses say; judged."""


@dataclass(frozen=True)
class Ruling:
    """The advice with its grounds: chance that each disposition is needed, loss of each, floor by red flags."""

    advice: Disposition
    needed: Mapping[Disposition, float]
    floor: Disposition
    flags: tuple[str, ...]


def ruling_for(
    knowledge: KnowledgeBase,
    network: Network,
    evidence: Evidence,
    results: Mapping[str, str | None],
    belief: Belief | None = None,
    stated: Collection[str] = (),
) -> Ruling:
    """The ruling for the evidence; `results` are the answers by check, None for "don't know".

    `belief`: the posterior, if it is there. `stated`: checks whose result the complaint itself says. Without it
    there was no call, so it is never taken as if it had been better.
    """
    floor, flags = red_flag_floor(knowledge, results)
    needed = needed_dispositions(knowledge, network, evidence, belief)
    losses = expected_losses(knowledge, needed)
    if sum(results.get(flag) is not None for flag in flags) >= MANY_FLAGS:
        return Ruling(Disposition.GET_CLEAR, needed, floor, flags)
    _, *better = _better(knowledge, evidence, stated)  # the first is the evidence as given
    least = max([_least(losses), *(_cheapest(knowledge, network, other) for other in better)])
    for other in _more_acute(knowledge, evidence):
        if least > floor:
            ways = _better(knowledge, other, stated)
            capped = max(_cheapest(knowledge, network, one) for one in ways)
            least = min(least, max(capped, Disposition.BOOK))  # what has lasted for days does not pass by itself
    return Ruling(max(floor, least), needed, floor, flags)


def floor_alone(knowledge: KnowledgeBase, results: Mapping[str, str | None], least: Disposition) -> Ruling:
    """The ruling by the danger signs alone, `least` without any: belief has no say in it."""
    floor, flags = red_flag_floor(knowledge, results)
    return Ruling(max(floor, least), {}, floor, flags)


def red_flag_floor(knowledge: KnowledgeBase, results: Mapping[str, str | None]) -> tuple[Disposition, tuple[str, ...]]:
    """The least disposition that the red flags allow, and the checks that raised one.

    "Don't know" counts as the worse answer, up to TOW: callers who cannot tell whether something burns must not drive
    and hear when to get clear; only those who see or smell it are sent away from the car. A sign that is impossible to
    miss (`unmistakable`) counts as absent once the caller has looked, that is, answered another danger sign with its
    normal result. Follow-up questions of a raised sign that are still open, such as how much oil is under the car,
    count as "don't know".
    """
    floor, flags = Disposition.WATCH, []
    signs = (knowledge.checks[check] for check in results if knowledge.checks[check].red_flag)
    looked = any(results[sign.id] == sign.expected for sign in signs)
    open_signs: dict[str, str | None] = dict.fromkeys(knowledge.follow_ups(results))
    for check, result in (open_signs | dict(results)).items():
        if any(results.get(sign) not in (None, *seen) for sign, seen in knowledge.follows(check).items()):
            continue  # a large spot is no danger if it turns out to be clear water
        red = knowledge.checks[check].red_flag
        raised = _doubtful_floor(knowledge.checks[check], looked) if result is None else red.get(result)
        if raised is not None:
            flags.append(check)
            floor = max(floor, raised)
    return floor, tuple(flags)


def _doubtful_floor(check: Check, looked: bool) -> Disposition | None:
    """The least advice for a "don't know" on a danger sign; none if the caller `looked` and could not miss it."""
    if not check.red_flag or (looked and check.sureness is Sureness.UNMISTAKABLE):
        return None
    return min(Disposition.TOW, max(check.red_flag.values()))


def needed_dispositions(
    knowledge: KnowledgeBase, network: Network, evidence: Evidence, belief: Belief | None = None
) -> dict[Disposition, float]:
    """Exact chance that each disposition is the one needed: the most urgent of the causes that bear on a finding.

    Causes that bear on none are as rare as on any car of the street and do not count. When nothing
    modelled explains the complaint the car still needs to be seen: BOOK.
    """
    presences = belief.presences if belief else presences_of(network, evidence)
    live = [network.causes[index] for index in presences.live]
    levels = list(Disposition)
    worse = [tuple(name for name in live if knowledge.causes[name].drive > level) for level in levels]
    groups = list(dict.fromkeys(((), *worse, tuple(live))))
    logs = dict(zip(groups, logs_without(network, presences, groups), strict=True))
    if logs[()] == -math.inf:
        raise ImpossibleFindings(tuple(sighting.check for sighting in evidence.sightings))
    share = {group: math.exp(min(0.0, log - logs[()])) for group, log in logs.items()}  # without any of the group
    at_most, nothing = [share[group] for group in worse], share[tuple(live)]
    at_most[0] = max(0.0, at_most[0] - nothing)
    return {level: max(0.0, at_most[i] - (at_most[i - 1] if i else 0.0)) for i, level in enumerate(levels)}


def expected_losses(knowledge: KnowledgeBase, needed: Mapping[Disposition, float]) -> dict[Disposition, float]:
    """Expected loss of each advice, in minutes: its burden, plus the harm of what is more urgent."""
    table = loss_table(knowledge)
    chances = np.array([needed[level] for level in Disposition])
    return {level: float(table[level] @ chances) for level in Disposition}


def loss_table(knowledge: KnowledgeBase) -> np.ndarray:
    """Loss in minutes, shape (advised, needed)."""
    advice = knowledge.dispositions
    return np.array(
        [
            [advice[given].burden + (advice[need].harm if need > given else 0.0) for need in Disposition]
            for given in Disposition
        ]
    )


def _cheapest(knowledge: KnowledgeBase, network: Network, evidence: Evidence) -> Disposition:
    """The advice with the least expected loss for this evidence."""
    return _least(expected_losses(knowledge, needed_dispositions(knowledge, network, evidence)))


def _least(losses: Mapping[Disposition, float]) -> Disposition:
    """The disposition with the least loss."""
    return min(Disposition, key=lambda level: (losses[level], -level))


def _better(knowledge: KnowledgeBase, evidence: Evidence, stated: Collection[str]) -> list[Evidence]:
    """The evidence with each flagged abnormal answer left, dropped, or made what is expected or a lesser danger.

    Another abnormal result is no better answer: not a sweet smell than a burning one, not oil than coolant.
    """
    choices: list[list[Sighting | None]] = []
    for sighting in evidence.sightings:
        check = knowledge.checks.get(sighting.check)
        if check is None or not check.red_flag or sighting.result == 0 or sighting.check in stated:
            choices.append([sighting])
            continue
        milder = (Sighting(sighting.check, r, sighting.epoch) for r in _milder(check, sighting.result))
        choices.append([sighting, *milder, None])
    return [Evidence(tuple(s for s in chosen if s), evidence.removals) for chosen in product(*choices)]


def _more_acute(knowledge: KnowledgeBase, evidence: Evidence) -> list[Evidence]:
    """The evidence as it would be had the trouble begun later or grown worse, in every way but the given one.

    A caller who has had the trouble for a week never gets more urgent advice than one who noticed it today: the advice
    for this evidence is an upper limit.
    """
    choices: list[list[Sighting]] = []
    for sighting in evidence.sightings:
        check = knowledge.checks.get(sighting.check)
        calm = check.calm if check else ()
        name = check.names[sighting.result] if check else ""
        worse = calm[calm.index(name) + 1 :] if check and name in calm else ()
        acute = [Sighting(sighting.check, check.names.index(one), sighting.epoch) for one in worse] if check else []
        choices.append([sighting, *acute])
    _, *others = product(*choices)
    return [Evidence(chosen, evidence.removals) for chosen in others]


def _milder(check: Check, result: int) -> list[int]:
    """The expected result, and those before this one that are danger signs with a lower floor."""
    floors = [check.red_flag.get(name) for name in check.names[: result + 1]]
    least = floors[-1] if floors[-1] is not None else Disposition.WATCH
    return [0, *(r for r, floor in enumerate(floors[:-1]) if floor is not None and floor < least)]
