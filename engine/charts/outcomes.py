"""What could be done where paper may stop: the repairs, the looks before them, what runs the engine."""

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from comeback.engine.belief.cause_sets import CauseSets
from comeback.engine.belief.network import Vector
from comeback.engine.belief.predictions import predict
from comeback.engine.charts.ends import LISTED, Outcomes
from comeback.engine.charts.looks import MEANT, Looks
from comeback.engine.choosing.repair_sequence import Action, RepairCosts
from comeback.engine.choosing.valuation import HANDLING, repair_actions, set_up_minutes
from comeback.engine.errors import ImpossibleFindings, TooManyFindings
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Disposition, Level


def outcomes(walk: Walk, looks: Looks, signs: Collection[str] = ()) -> Outcomes | None:
    """What could be done at this place of the walk; None if the findings exclude each other.

    `signs`: danger signs that led here of which paper does not know which, each as its check.
    """
    view, knowledge = walk.view, walk.knowledge
    try:
        sets = _complained_of(view, view.sets)
    except (ImpossibleFindings, TooManyFindings):
        return None
    repairs = [knowledge.repairs[name] for name in view.repairs()]
    standing = view.standing_set_ups()
    every = repair_actions(knowledge, sets, list(repairs), standing)
    actions = tuple(action for action in every if (action.cures >= MEANT).any())
    meant = np.array([action.cures >= MEANT for action in actions]).reshape(len(actions), sets.now.shape[1])
    specialist = frozenset(repair.id for repair in repairs if repair.level is Level.SPECIALIST)
    few = int(np.searchsorted(np.cumsum(sets.weights), LISTED * sets.weights.sum())) + 1
    costs = RepairCosts(sets.now[:few], actions, knowledge.settings.hand_over_minutes)
    running = np.array([runs_engine(view, action.id, looks, signs) for action in actions], bool)
    causes = (knowledge.causes[sets.belief.network.causes[c]] for c in sets.live)
    grave = np.array([cause.drive >= Disposition.TOW for cause in causes], bool)
    return Outcomes(sets, actions, meant, specialist, costs, *_looks(view, actions, looks), running, grave)


def _complained_of(view: CaseView, sets: CauseSets) -> CauseSets:
    """The sets without causes that bear neither on the complaint nor on a danger sign that was seen.

    Their repair cures nothing that the customer complained of: water under a car that boils is no reason to
    hand it back.
    """
    complaint, observables = view.complaint, view.network.observables
    if complaint is None or not complaint.reports:
        return sets
    told = (name for name in (*complaint.reports, *view.raised) if name in observables)
    causes = {cause for name in told for cause in observables[name].links}
    bears = np.array([cause in causes for cause in sets.live], bool)
    return replace(sets, now=sets.now & bears)


def runs_engine(view: CaseView, repair: str, looks: Looks, signs: Collection[str] = ()) -> bool:
    """True if the engine runs for the look of a repair's card, unless its result is known, or for the work."""
    look = looks.before(repair)
    looked = look is not None and look[0].runs_engine and view.results.get(look[0].id) is None
    return looked or view.runs_engine(repair, signs)


def _looks(view: CaseView, actions: Sequence[Action], looks: Looks) -> tuple[Vector, Vector]:
    """(S, A) chances that the look of each card shows its sign, and (A,) the minutes of the looks."""
    knowledge, sets, standing = view.knowledge, view.sets, view.standing_set_ups()
    found = [looks.before(action.id) for action in actions]
    asked = list(dict.fromkeys(one[0].id for one in found if one and one[0].id in view.network.observables))
    shown = predict(view.network, sets, asked) if asked else None
    chances, minutes = np.zeros((len(sets.weights), len(actions))), np.zeros(len(actions))
    for k, one in enumerate(found):
        if one is None or one[0].id not in asked or shown is None:
            continue
        check, results = one
        known = view.results.get(check.id)
        if known is not None:
            chances[:, k] = float(known in results)
            continue
        chances[:, k] = shown.of(check.id)[:, [check.names.index(result) for result in results]].sum(axis=1)
        minutes[k] = HANDLING + check.minutes + set_up_minutes(knowledge, check.set_up, standing)
    return chances, minutes
