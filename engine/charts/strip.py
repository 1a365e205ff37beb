"""What a chart begins with: the walk of its complaint, and the strip of danger signs that stop the work."""

from collections.abc import Iterable

from comeback.engine.belief.network import Vehicle
from comeback.engine.case.facts import ConditionNamed
from comeback.engine.charts.cars import cars_of
from comeback.engine.charts.ladder import Sign
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.walk import Walk, begin_walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience, Disposition, Tier

RARE = 0.002
"""A sign of danger to the car alone that fewer of the cars show is not printed; judged."""
STRIP = 0.3
"""A sign that more of the cars show is no reason to stop, but part of the complaint; judged."""


def start(knowledge: KnowledgeBase, service: str, complaint: str, audience: Audience, vehicle: Vehicle = ()) -> Walk:
    """The walk that a chart begins with."""
    walk = begin_walk(knowledge, service, complaint, audience)
    for feature, value in vehicle:
        walk = walk.imagine(ConditionNamed(feature, value))
    return walk


def without_signs(walk: Walk, signs: Iterable[Sign]) -> CaseView:
    """The view once none of these signs is there."""
    checks = walk.knowledge.checks
    for sign in signs:
        if set(sign.results) >= set(checks[sign.check].red_flag):
            walk = walk.imagine(walk.answers({sign.check: checks[sign.check].expected}, "", ""))
    return walk.view


def strip(view: CaseView) -> tuple[tuple[Sign, ...], float]:
    """The signs that stop the work before it begins, and the share of the cars that show one."""
    knowledge = view.knowledge
    listed = [knowledge.checks[name] for name in view.listed_signs]
    flags = [check for check in listed if view.can_make(check) and check.id not in view.results]
    cars, out, none = cars_of(view), [], 1.0
    for check in flags:
        stops = [r for r, least in check.red_flag.items() if r in check.engine_off or
                 (check.tier is Tier.PEOPLE and least >= Disposition.TOW)]  # fmt: skip
        share = {r: float(cars.arriving @ cars.chance(check.id, (r,))) for r in stops}
        least = 0.0 if check.tier is Tier.PEOPLE else RARE
        kept = tuple(r for r in stops if least <= share[r] < STRIP)
        if kept:
            none *= 1 - sum(share[r] for r in kept)
            out.append(Sign(check.id, kept))
    return tuple(out), 1 - none
