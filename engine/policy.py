"""The only place that picks the next step; the live walk and the compiled decision graph both call it.

Order: what was done and what is wrong, then the red flags, then a pending proof, then the check
that saves more minutes of repair than it costs - the lowest hazard tier first, the best rate inside
it - then the repair with the best chance per minute, and handing over when neither pays.
"""

from dataclasses import replace

from comeback.engine.case import Case
from comeback.engine.disposition import rule
from comeback.engine.lookahead import Budget, Node, by_saving, try_first
from comeback.engine.planning import CheckOption, Outlook, look_ahead
from comeback.engine.repair_sequence import Action
from comeback.engine.situation import Situation
from comeback.engine.steps import (
    Advise,
    ChooseComplaint,
    ChooseCondition,
    ChooseService,
    CloseCase,
    DangerScreen,
    DoRepair,
    Finished,
    HandOver,
    MakeCheck,
    ProveRepair,
    ReadPanel,
    Step,
)
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import FEATURES, Audience, Disposition, Level

CANDIDATES = 4
"""Checks that are compared by looking further ahead."""
FOLLOWERS = 16
"""Other checks that may follow in the look-ahead."""
BELIEFS = 48
"""Beliefs looked into for one decision."""
CLEAR_LEAD = 3.0
"""A check with so many times the rate of the next is taken without looking further."""
PHONE_QUESTIONS = 7
"""Questions to a caller after the red flags; a call is to end within four minutes."""
PHONE_QUESTIONS_WHEN_TOWED = 3
WORTH_ASKING = 0.25
"""Minutes that a check must save beyond its own cost."""
WORTH_DELAYING = 0.15
"""Share of the leading repair, weighted by its chance, that a check must save to come before it."""


def next_step(knowledge: KnowledgeBase, case: Case, audience: Audience) -> Step:
    """The next step of the walk for this audience."""
    situation = Situation(knowledge, case, audience)
    return (
        _ended(situation)
        or _opening(situation)
        or (_phone_step(situation) if audience is Audience.PHONE else _bay_step(situation))
    )


def _ended(situation: Situation) -> Step | None:
    case = situation.case
    if case.closed is not None:
        return Finished("closed", case.closed)
    if case.handed_over is not None:
        return Finished("handed over", {"reason": case.handed_over})
    if situation.audience is Audience.PHONE and case.disposition is not None:
        return Finished("advised", {"disposition": case.disposition})
    return None


def _opening(situation: Situation) -> Step | None:
    case, knowledge = situation.case, situation.knowledge
    if case.service is None:
        return ChooseService(tuple(knowledge.services))
    complaint = situation.complaint
    if complaint is None:
        fitting = (c.id for c in knowledge.complaints.values() if not c.services or case.service in c.services)
        return ChooseComplaint(tuple(fitting))
    flags = [flag for flag in complaint.red_flags if _unanswered(situation, flag)]
    return DangerScreen(tuple(flags)) if flags and not case.repairs else None


def _unanswered(situation: Situation, check: str) -> bool:
    """Not known yet; a caller's "don't know" is asked again at the car."""
    entry = situation.knowledge.checks[check]
    if check not in situation.network.observables or situation.audience not in entry.audience:
        return False
    answer = situation.case.answer(check)
    if answer is None:
        return check not in situation.results
    return answer.result is None and answer.audience != situation.audience.value


def _phone_step(situation: Situation) -> Step:
    ruling = rule(situation.knowledge, situation.network, situation.evidence, situation.results)
    asked = sum(1 for a in situation.case.answers if a.check not in _flags(situation))
    limit = PHONE_QUESTIONS_WHEN_TOWED if ruling.advice >= Disposition.TOW else PHONE_QUESTIONS
    if ruling.advice < Disposition.GET_CLEAR and asked < limit:
        outlook = _outlook(situation)
        best = _best_check(outlook)
        if best is not None:
            return _make_check(situation, best)
    return Advise(ruling.advice, ruling.floor, ruling.flags, ruling.needed)


def _flags(situation: Situation) -> tuple[str, ...]:
    return situation.complaint.red_flags if situation.complaint else ()


def _bay_step(situation: Situation) -> Step:
    pending = _proof_due(situation)
    if pending is not None:
        return pending
    outlook = _outlook(situation)
    best = _best_check(outlook)
    if best is not None:
        return _condition_first(situation, best.checks[0]) or _make_check(situation, best)
    return _repair_step(situation, outlook)


def _proof_due(situation: Situation) -> Step | None:
    """After a repair: its proof, then whether the complaint is gone; both as they should be: close."""
    case = situation.case
    if not case.repairs or situation.complaint is None:
        return None
    done = case.repairs[-1]
    proof = situation.knowledge.repairs[done.repair].proof
    wanted = {proof.check: proof.result} | {
        check: situation.knowledge.checks[check].expected for check in situation.complaint.reports
    }
    for check, result in wanted.items():
        if case.answer(check, case.epoch) is None:
            return ProveRepair(done.repair, check, result)
    answers = {check: case.answer(check, case.epoch) for check in wanted}
    gone = all((answer := answers[check]) and answer.result == wanted[check] for check in situation.complaint.reports)
    proof_answer = answers[proof.check]
    held = proof_answer is not None and proof_answer.result == proof.result
    unsure = proof_answer is not None and proof_answer.result is None
    if gone and (held or unsure):
        return CloseCase(case.complaint or "", _removed_causes(situation), tuple(d.repair for d in case.repairs), held)
    return None


def _removed_causes(situation: Situation) -> tuple[str, ...]:
    """Causes that the last repair most probably removed: there before, at least half as likely as the likeliest."""
    belief, network = situation.belief, situation.network
    removed = [
        (float(belief.was_present[network.index(cause)]), cause)
        for cause in situation.knowledge.repairs[situation.case.repairs[-1].repair].removes
        if cause in network.causes
    ]
    top = max((p for p, _ in removed), default=0.0)
    return tuple(cause for p, cause in sorted(removed, reverse=True) if p >= top / 2)


def _outlook(situation: Situation) -> Outlook:
    return look_ahead(
        situation.knowledge,
        situation.network,
        situation.evidence,
        situation.askable(),
        situation.repairs(),
        situation.standing_set_ups(),
    )


def _best_check(outlook: Outlook) -> CheckOption | None:
    """The check to make: lowest hazard tier with one that pays, and in it the best after looking further.

    If none pays by itself, those that tell most per minute are tried with what could follow them.
    """
    least = WORTH_ASKING + WORTH_DELAYING * _ready_minutes(outlook)
    paying = [option for option in outlook.options if option.net > least]
    if paying:
        tier = min(option.tier for option in paying)
        rates = sorted((o for o in paying if o.tier == tier), key=lambda o: (-o.gain / o.minutes, o.checks))
        if len(rates) == 1 or rates[0].gain > CLEAR_LEAD * rates[1].gain / rates[1].minutes * rates[0].minutes:
            return rates[0]
        return _looked_further(outlook, rates[:CANDIDATES], least, outlook.plan.expected_minutes) or rates[0]
    telling = sorted(outlook.options, key=lambda o: -outlook.node.information(outlook.numbers[o.checks]) / o.minutes)
    return _looked_further(outlook, telling[:CANDIDATES], least, outlook.plan.expected_minutes - least)


def _looked_further(outlook: Outlook, candidates: list[CheckOption], least: float, below: float) -> CheckOption | None:
    """The candidate with the least expected minutes if the saving rule is followed after it, if under `below`."""
    if not candidates:
        return None
    node = _narrowed(outlook, candidates)
    rule, share = by_saving(least), BELIEFS // len(candidates)
    minutes = [try_first(node, outlook.numbers[option.checks], rule, Budget(share)) for option in candidates]
    best = min(range(len(candidates)), key=lambda k: minutes[k])
    return candidates[best] if minutes[best] < below else None


def _narrowed(outlook: Outlook, candidates: list[CheckOption]) -> Node:
    """The node with only the checks that could follow: the candidates and the next best few."""
    others = sorted(outlook.options, key=lambda option: -option.gain / option.minutes)[:FOLLOWERS]
    numbers = sorted({outlook.numbers[option.checks] for option in (*candidates, *others)})
    return replace(outlook.node, open=tuple(numbers))


def _ready_minutes(outlook: Outlook) -> float:
    """Minutes of the leading repair times its chance: a repair that is nearly sure should not wait."""
    leading = next((a for a in outlook.actions if a.id in outlook.plan.order[:1]), None)
    return leading.minutes * _chance(outlook, leading) if leading else 0.0


def _chance(outlook: Outlook, action: Action) -> float:
    """Chance that this repair alone removes a cause that the findings need."""
    cured = (outlook.sets.now * action.cures[None]).max(axis=1, initial=0.0)
    return float(outlook.sets.weights @ cured)


def _make_check(situation: Situation, option: CheckOption) -> MakeCheck | ReadPanel:
    checks, standing = situation.knowledge.checks, situation.standing_set_ups()
    needed = dict.fromkeys(name for check in option.checks for name in checks[check].set_up)
    new = tuple(name for name in needed if name not in standing)
    if option.panel is not None and len(option.checks) > 1:
        return ReadPanel(option.panel, option.checks, option.minutes, option.gain, new)
    return MakeCheck(option.checks[0], option.minutes, option.gain, option.chances, new)


def _condition_first(situation: Situation, entry: str) -> ChooseCondition | None:
    """A vehicle condition that the chosen check or repair, or a leading cause, hangs on and nobody has asked."""
    knowledge, case = situation.knowledge, situation.case
    chosen = knowledge.checks.get(entry) or knowledge.repairs.get(entry)
    leading = [knowledge.causes[cause].only_if for cause, _ in situation.repair_candidates(0.05)]
    known = dict(case.vehicle)
    for condition in [chosen.only_if if chosen else {}, *leading]:
        for feature in condition:
            if feature not in known and feature not in case.unknown_conditions:
                return ChooseCondition(feature, FEATURES[feature])
    return None


def _repair_step(situation: Situation, outlook: Outlook) -> Step:
    if not outlook.plan.order:
        return HandOver("no check or repair here is likely to find it faster than a specialist")
    first, *rest = outlook.plan.order
    asked = _condition_first(situation, first)
    if asked is not None:
        return asked
    repair = situation.knowledge.repairs[first]
    if repair.level is Level.SPECIALIST:
        return HandOver("this repair needs a specialist", first)
    action = next(a for a in outlook.actions if a.id == first)
    return DoRepair(first, action.minutes, _chance(outlook, action), outlook.plan.expected_minutes, tuple(rest[:3]))
