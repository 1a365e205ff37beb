"""What a readout means for a case: findings with their band and reason, what was held back, and remarks.

A finding is a check of the knowledge files with its result; the bands are theirs. What is not valid
(open loop, cold, codes just cleared) is held back with the reason instead of concluded.
"""

from collections.abc import Mapping

from comeback.engine.readout.findings.code_findings import judge_codes
from comeback.engine.readout.findings.judging import Interpretation, Judge, Surroundings
from comeback.engine.readout.findings.live_findings import judge_values
from comeback.engine.readout.findings.patterns import name_patterns
from comeback.engine.readout.protocol.car_data import CarData
from comeback.kb.schema import KnowledgeBase


def interpret(
    data: CarData, knowledge: KnowledgeBase, around: Surroundings, typed: Mapping[str, str] | None = None
) -> Interpretation:
    """What `data` means. `typed`: readings given by the id of their check, banded as they are."""
    judge = Judge(knowledge, around)
    judge_codes(judge, data)
    judge_values(judge, data)
    for check, text in (typed or {}).items():
        judge.reading(check, text, "typed for this check")
    name_patterns(judge, data)
    return judge.done()
