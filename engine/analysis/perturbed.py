"""A copy of the knowledge with frequencies and chances a little different, to see what hangs on them.

Noise is added in natural log-odds, so that it means the same for rare and for common things: 0.5 turns
10 % into 6 or 15 %, and 1 in 1000 into 0.6 or 1.6. Chances of several results are shifted against the
expected one and stay a distribution. Minutes, prices and losses are left alone.
"""

import math
from collections.abc import Iterator, Mapping

from comeback.kb.schema import Cause, KnowledgeBase, Repair

Number = tuple[str, ...]
"""(section, id, field, ...): `("causes", "duct-loose", "shows", "idle-speed", "low")`."""


def numbers_of(knowledge: KnowledgeBase) -> tuple[Number, ...]:
    """Every frequency and chance of the knowledge, in file order."""
    return tuple(_numbers(knowledge))


def _numbers(knowledge: KnowledgeBase) -> Iterator[Number]:
    for cause in knowledge.causes.values():
        yield "causes", cause.id, "frequency"
        for name, shows in cause.shows.items():
            for result in _by_result(knowledge, name, shows):
                yield "causes", cause.id, "shows", name, result
    for check in knowledge.checks.values():
        for result in check.otherwise:
            yield "checks", check.id, "otherwise", result
    for repair in knowledge.repairs.values():
        for removed in repair.removes:
            yield "repairs", repair.id, "removes", removed


def perturb(knowledge: KnowledgeBase, shift: Mapping[Number, float]) -> KnowledgeBase:
    """Knowledge with each number in `shift` moved by so much, in natural log-odds."""
    causes = {name: _cause(knowledge, cause, shift) for name, cause in knowledge.causes.items()}
    checks = {
        name: check.model_copy(update={"otherwise": _shifted(check.otherwise, ("checks", name, "otherwise"), shift)})
        for name, check in knowledge.checks.items()
    }
    repairs = {name: _repair(repair, shift) for name, repair in knowledge.repairs.items()}
    return knowledge.model_copy(update={"causes": causes, "checks": checks, "repairs": repairs})


def _repair(repair: Repair, shift: Mapping[Number, float]) -> Repair:
    place = ("repairs", repair.id, "removes")
    removes = {cause: _logit_shift(chance, shift.get((*place, cause), 0.0)) for cause, chance in repair.removes.items()}
    return repair.model_copy(update={"removes": removes})


def _cause(knowledge: KnowledgeBase, cause: Cause, shift: Mapping[Number, float]) -> Cause:
    rate = _logit_shift(cause.frequency / 1000, shift.get(("causes", cause.id, "frequency"), 0.0))
    shows = {
        check: _shifted(_by_result(knowledge, check, shown), ("causes", cause.id, "shows", check), shift)
        for check, shown in cause.shows.items()
    }
    return cause.model_copy(update={"frequency": 1000 * rate, "shows": shows})


def _by_result(knowledge: KnowledgeBase, check: str, shows: float | Mapping[str, float]) -> Mapping[str, float]:
    return shows if isinstance(shows, Mapping) else {knowledge.checks[check].names[1]: shows}


def _shifted(chances: Mapping[str, float], place: Number, shift: Mapping[Number, float]) -> dict[str, float]:
    """Abnormal chances shifted against the expected result; what is impossible stays so."""
    weights = {result: chance * math.exp(shift.get((*place, result), 0.0)) for result, chance in chances.items()}
    whole = max(0.0, 1.0 - sum(chances.values())) + sum(weights.values())
    return {result: weight / whole for result, weight in weights.items()} if whole > 0 else dict(chances)


def _logit_shift(chance: float, by: float) -> float:
    odds = chance * math.exp(by)
    return odds / (1.0 - chance + odds)
