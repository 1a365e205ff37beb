"""Steps that follow from what is already recorded: a pending proof, the closing, findings that exclude each other."""

from comeback.engine.walk.conflicts import strongest_conflict
from comeback.engine.walk.situation import Situation
from comeback.engine.walk.steps import CloseCase, HandOver, ProveRepair, Step, TakeOneBack


def proof_due(situation: Situation) -> Step | None:
    """After a repair: its proof, then whether the complaint is gone; both as they should be: close.

    A "don't know" is asked once more. What nobody can tell then leaves the case unproven, not open: the
    rest is as it should be, and no further check would show anything.
    """
    case = situation.case
    if not case.repairs or situation.complaint is None:
        return None
    done, wanted = case.repairs[-1], _wanted(situation)
    for check, result in wanted.items():
        told = [answer.result for answer in case.answers if answer.check == check and answer.epoch == case.epoch]
        if not told or told == [None]:
            despite = situation.despite(situation.knowledge.checks[check].runs_engine)
            return ProveRepair(done.repair, check, result, bool(told), despite)
    found = {check: _told(situation, check) for check in wanted}
    right = all(result in (None, wanted[check]) for check, result in found.items())
    if right and any(result is not None for result in found.values()):
        return _close(situation, None not in found.values())
    return None


def _wanted(situation: Situation) -> dict[str, str]:
    """Results that show the last repair held: its proof, the complaint, and where the proof was right before it
    and so proves nothing, what was wrong before."""
    checks, case = situation.knowledge.checks, situation.case
    proof = situation.knowledge.repairs[case.repairs[-1].repair].proof
    wanted = {proof.check: proof.result}
    before = [a.result for a in case.answers if a.check == proof.check and a.epoch < case.epoch and a.result]
    if before[-1:] == [proof.result]:
        telling = _telling(situation, proof.check)
        wanted |= {telling: checks[telling].expected} if telling else {}
    reports = situation.complaint.reports if situation.complaint else {}
    return wanted | {check: checks[check].expected for check in reports}


def _telling(situation: Situation, proof: str) -> str | None:
    """The abnormal finding before the last repair that what it removes shows best, against the leak."""
    knowledge, case = situation.knowledge, situation.case
    removes = [c for c in knowledge.repairs[case.repairs[-1].repair].removes if c in situation.network.places]
    shown: dict[str, float] = {}
    for answer in case.answers:
        check = knowledge.checks[answer.check]
        if answer.result in (None, check.expected) or check.lasting or not situation.can_make(check):
            continue
        number = check.names.index(str(answer.result))
        ways = [
            knowledge.chances(cause, check.id)[number] for cause in removes if check.id in knowledge.causes[cause].shows
        ]
        if answer.epoch < case.epoch and ways and check.id != proof:
            shown[check.id] = max(ways) / max(knowledge.leak(check.id)[number], 1e-6)
    return max(shown, key=lambda name: (shown[name], name), default=None)


def _close(situation: Situation, proven: bool) -> CloseCase:
    """Complaint, causes and corrections; a repair after which all stayed as it was is none."""
    case = situation.case
    *earlier, last = (done.repair for done in case.repairs)
    helped = [repair for repair in earlier if _helped(situation, repair)]
    causes = dict.fromkeys(
        cause for repair in (last, *reversed(helped)) for cause in _removed_causes(situation, repair)
    )
    in_vain = tuple(dict.fromkeys(repair for repair in earlier if repair not in (*helped, last)))
    repairs = tuple(dict.fromkeys((*helped, last)))
    return CloseCase(case.complaint or "", tuple(causes), repairs, proven, in_vain)


def _helped(situation: Situation, repair: str) -> bool:
    """True if a cause that it removes was there, more likely than not, in the light of all that was found."""
    belief, places = situation.belief, situation.network.places
    removes = situation.knowledge.repairs[repair].removes
    return any(belief.was_present[places[cause]] >= 0.5 for cause in removes if cause in places)


def _told(situation: Situation, check: str) -> str | None:
    """What the check showed since the last repair; a "don't know" does not undo a result."""
    case = situation.case
    told = (a.result for a in case.answers if a.check == check and a.epoch == case.epoch)
    return next((result for result in reversed(list(told)) if result is not None), None)


def _removed_causes(situation: Situation, repair: str) -> tuple[str, ...]:
    """Causes that the repair most probably removed: there before, at least half as likely as the likeliest."""
    belief, places = situation.belief, situation.network.places
    removes = situation.knowledge.repairs[repair].removes
    removed = [(float(belief.was_present[places[cause]]), cause) for cause in removes if cause in places]
    top = max((p for p, _ in removed), default=0.0)
    return tuple(cause for p, cause in sorted(removed, reverse=True) if p >= top / 2)


def take_one_back(situation: Situation) -> Step:
    """The two findings in strongest conflict; without such a pair, the last two."""
    evidence = situation.evidence
    conflict = strongest_conflict(situation.network, evidence)
    pair = (conflict.earlier, conflict.later) if conflict else evidence.sightings[-2:]
    if len(pair) < 2:
        return HandOver("what was found is not possible under this knowledge")
    numbers = [a.number if (a := situation.case.answer(s.check, s.epoch)) else 0 for s in pair]
    one, other = sorted(zip(numbers, pair, strict=True), key=lambda item: item[0])
    names = [situation.knowledge.checks[s.check].names[s.result] for _, s in (one, other)]
    return TakeOneBack((one[1].check, other[1].check), (names[0], names[1]), (one[0], other[0]))
