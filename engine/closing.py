"""Steps that follow from what is already recorded: a pending proof, the closing, findings that exclude each other."""

from comeback.engine.conflicts import strongest_conflict
from comeback.engine.situation import Situation
from comeback.engine.steps import CloseCase, HandOver, ProveRepair, Step, TakeOneBack


def proof_due(situation: Situation) -> Step | None:
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
