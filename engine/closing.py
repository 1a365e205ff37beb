"""Steps that follow from what is already recorded: a pending proof, the closing, findings that exclude each other."""

from comeback.engine.conflicts import strongest_conflict
from comeback.engine.situation import Situation
from comeback.engine.steps import CloseCase, HandOver, ProveRepair, Step, TakeOneBack


def proof_due(situation: Situation) -> Step | None:
    """After a repair: its proof, then whether the complaint is gone; both as they should be: close.

    A "don't know" is asked once more. What nobody can tell then leaves the case unproven, not open: the
    rest is as it should be, and no further check would show anything.
    """
    case = situation.case
    if not case.repairs or situation.complaint is None:
        return None
    done = case.repairs[-1]
    proof = situation.knowledge.repairs[done.repair].proof
    wanted = {proof.check: proof.result} | {
        check: situation.knowledge.checks[check].expected for check in situation.complaint.reports
    }
    for check, result in wanted.items():
        told = [answer.result for answer in case.answers if answer.check == check and answer.epoch == case.epoch]
        if not told or told == [None]:
            return ProveRepair(done.repair, check, result, bool(told))
    found = {check: _told(situation, check) for check in wanted}
    right = all(result in (None, wanted[check]) for check, result in found.items())
    if right and any(result is not None for result in found.values()):
        proven, repairs = None not in found.values(), tuple(done.repair for done in case.repairs)
        return CloseCase(case.complaint or "", _removed_causes(situation), repairs, proven)
    return None


def _told(situation: Situation, check: str) -> str | None:
    """What the check showed since the last repair; a "don't know" does not undo a result."""
    case = situation.case
    told = (a.result for a in case.answers if a.check == check and a.epoch == case.epoch)
    return next((result for result in reversed(list(told)) if result is not None), None)


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
