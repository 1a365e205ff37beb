"""Steps that follow from what is already recorded: a pending proof, the closing, findings that exclude each other."""

from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.conflicts import strongest_conflict
from comeback.engine.walk.steps import CloseCase, HandOver, ProofRound, ProveRepair, Step, TakeOneBack
from comeback.kb.schema import Cause, KnowledgeBase
from comeback.kb.vocabulary import CauseKind


def proof_due(view: CaseView) -> Step | None:
    """After a repair: its proof, then whether the complaint is gone; both as they should be: close.

    A "don't know" is asked once more. What nobody can tell then leaves the case unproven, not open: the
    rest is as it should be, and no further check would show anything.
    """
    case = view.case
    if not case.repairs or not view.complaints:
        return None
    done, wanted = case.repairs[-1], _wanted(view)
    told = {check: [a.result for a in case.answers if a.check == check and a.epoch == case.epoch] for check in wanted}
    asked = [check for check in wanted if not told[check]]
    due = asked or [check for check in wanted if told[check] == [None]]
    due.sort(key=lambda check: view.knowledge.checks[check].drives)  # what is seen in the shop before the road
    if due:
        return _proof(view, done.repair, {check: wanted[check] for check in due}, not asked)
    found = {check: _told(view, check) for check in wanted}
    right = all(result in (None, wanted[check], *_harmless(view, check)) for check, result in found.items())
    if right and any(result is not None for result in found.values()):
        return _close(view, None not in found.values())
    return None


def _proof(view: CaseView, repair: str, wanted: dict[str, str], retry: bool) -> ProveRepair | ProofRound:
    """All that proves it on one screen; what nobody could tell is tried again by itself."""
    checks = view.knowledge.checks
    if retry or len(wanted) == 1:
        check, result = next(iter(wanted.items()))
        return ProveRepair(repair, check, result, retry, view.despite(checks[check].runs_engine))
    despite = view.despite(any(checks[check].runs_engine for check in wanted))
    return ProofRound(repair, tuple(wanted), tuple(wanted.values()), despite)


def _wanted(view: CaseView) -> dict[str, str]:
    """Results that show the last repair held: its proof, the complaint, and where the proof was right before it
    and so proves nothing, what was wrong before."""
    checks, case = view.knowledge.checks, view.case
    proof = view.knowledge.repairs[case.repairs[-1].repair].proof
    wanted = {proof.check: proof.result}
    before = [a.result for a in case.answers if a.check == proof.check and a.epoch < case.epoch and a.result]
    if before[-1:] == [proof.result]:
        telling = _telling(view, proof.check)
        wanted |= {telling: checks[telling].expected} if telling else {}
    return wanted | {check: checks[check].expected for check in view.stated if not _goes_with_another(view, check)}


def _goes_with_another(view: CaseView, check: str) -> bool:
    """True if it makes no sense once another thing complained of is gone: what a smell is like, without the smell."""
    checks = view.knowledge.checks
    return any(checks[one].expected not in seen for one, seen in checks[check].needs.items() if one in view.stated)


def _harmless(view: CaseView, check: str) -> tuple[str, ...]:
    """Results beside the expected one that nothing has to be done about, unless they are complained of."""
    return tuple(r for r in view.knowledge.checks[check].harmless if r != view.stated.get(check))


def _telling(view: CaseView, proof: str) -> str | None:
    """The abnormal finding before the last repair that what it removes shows best, against the leak."""
    case, shown = view.case, dict[str, float]()
    for answer in case.answers:
        check = view.knowledge.checks[answer.check]
        found = answer.result not in (None, check.expected) and answer.epoch < case.epoch and check.id != proof
        if found and not check.lasting and view.can_make(check):
            shown[check.id] = view.tells_of(case.repairs[-1].repair, check, str(answer.result))
    best = max(shown, key=lambda name: (shown[name], name), default=None)
    return best if best is not None and shown[best] else None


def _close(view: CaseView, proven: bool) -> CloseCase:
    """Complaint, causes and corrections; a repair after which all stayed as it was is none."""
    case = view.case
    *earlier, last = (done.repair for done in case.repairs)
    helped = [repair for repair in earlier if _helped(view, repair)]
    causes = dict.fromkeys(cause for repair in (last, *reversed(helped)) for cause in removed_causes(view, repair))
    in_vain = tuple(dict.fromkeys(repair for repair in earlier if repair not in (*helped, last)))
    repairs = tuple(dict.fromkeys((*helped, last)))
    return CloseCase(case.complaint or "", tuple(causes), repairs, proven, in_vain)


def alternatives(knowledge: KnowledgeBase, step: CloseCase) -> bool:
    """True if one repair removed several of the causes named: nobody has said yet which of them was there."""
    removes = (knowledge.repairs[repair].removes.keys() for repair in step.repairs)
    return any(len(causes & {*step.causes}) > 1 for causes in removes)


def close_passed(view: CaseView) -> CloseCase:
    """It passed by itself: the after-effect that most probably did it, and nothing to correct."""
    belief, causes = view.belief, view.knowledge.causes
    named = ((float(belief.present[index]), belief.network.causes[index]) for index in belief.live)
    passing = [(chance, name) for chance, name in named if _explains(view, causes[name])]
    return CloseCase(view.case.complaint or "", (max(passing)[1],) if passing else (), (), proven=False)


def _explains(view: CaseView, cause: Cause) -> bool:
    """True for an after-effect that shows in what is complained of."""
    return cause.kind is CauseKind.AFTER_EFFECT and not view.stated.keys().isdisjoint(cause.shows)


def _helped(view: CaseView, repair: str) -> bool:
    """True if a cause that it removes was there, more likely than not, in the light of all that was found."""
    belief, places = view.belief, view.network.places
    removes = view.knowledge.repairs[repair].removes
    return any(belief.was_present[places[cause]] >= 0.5 for cause in removes if cause in places)


def _told(view: CaseView, check: str) -> str | None:
    """What the check showed since the last repair; a "don't know" does not undo a result."""
    case = view.case
    told = (a.result for a in case.answers if a.check == check and a.epoch == case.epoch)
    return next((result for result in reversed(list(told)) if result is not None), None)


def removed_causes(view: CaseView, repair: str) -> tuple[str, ...]:
    """Causes that the repair most probably removed: there before, at least half as likely as the likeliest."""
    belief, places = view.belief, view.network.places
    removes = view.knowledge.repairs[repair].removes
    removed = [(float(belief.was_present[places[cause]]), cause) for cause in removes if cause in places]
    top = max((p for p, _ in removed), default=0.0)
    return tuple(cause for p, cause in sorted(removed, reverse=True) if p >= top / 2)


def take_one_back(view: CaseView) -> Step:
    """The two findings in strongest conflict; without such a pair, the last two."""
    evidence = view.evidence
    conflict = strongest_conflict(view.network, evidence)
    pair = (conflict.earlier, conflict.later) if conflict else evidence.sightings[-2:]
    if len(pair) < 2:
        return HandOver("what was found is not possible under this knowledge")
    numbers = [a.number if (a := view.case.answer(s.check, s.epoch)) else 0 for s in pair]
    one, other = sorted(zip(numbers, pair, strict=True), key=lambda item: item[0])
    names = [view.knowledge.checks[s.check].names[s.result] for _, s in (one, other)]
    return TakeOneBack((one[1].check, other[1].check), (names[0], names[1]), (one[0], other[0]))
