"""The result of a drill as plain data: what was hidden, what was done, and every figure by itself."""

from collections.abc import Iterator, Mapping
from typing import Any

from comeback.engine.drill.drill import Drill
from comeback.engine.drill.score import Advice, Score

FORMAT = 2


def data(drill: Drill, score: Score, opened: Mapping[str, Any]) -> dict[str, Any]:
    """The result; `opened` is what was recorded when the drill began. What is hidden is left out while it goes on."""
    car, over = drill.car.comeback, bool(drill.ended)
    return {
        "drill": FORMAT,
        "mode": drill.mode.value,
        "seed": drill.car.seed,
        "asked": {"service": opened.get("service"), "complaint": opened.get("complaint")},
        "exam": opened.get("exam"),
        "knowledge": drill.knowledge.version,
        "service": car.service,
        "complaint": car.complaint,
        "behind": sorted(drill.car.behind) if over else None,
        "ended": score.ended,
        "safety": {"misses": list(score.safety)},
        "advice": _advice(score.advice, over),
        "efficiency": {
            "checks": score.checks, "program_checks": score.program_checks,
            "minutes": round(score.minutes, 2), "program_minutes": round(score.program_minutes, 2),
            "bits_per_check": round(score.bits, 4), "best_bits_per_check": round(score.best_bits, 4),
            "redundant_checks": score.redundant,
        },
        "conclusions": {
            "made": score.conclusions, "found": score.found, "program_unwarranted": score.program_unwarranted,
            "unwarranted": [
                {"kind": m.kind, "name": m.name, "open": dict(m.open), "programs": m.programs}
                for m in score.unwarranted
            ],
        },
        "suspects": {
            "named": score.named, "with_a_true_cause": score.named_right,
            "leading": sum(one.leading for one in score.suspicions),
            "sure": [[one.sure, one.true_first] for one in score.suspicions if one.sure is not None],
            "expected": score.expected, "met": score.met,
        },
        "hints": list(score.hint_levels),
        "call": {"promised": list(score.promised), "read_back": score.read_back}
        if score.read_back is not None else None,
        "diverged_at": score.divergence.number if score.divergence and over else None,
        "turns": list(_turns(drill)),
    }  # fmt: skip


def _advice(advice: Advice, over: bool) -> dict[str, Any]:
    words = {"told": advice.told, "right": advice.right if over else None, "least": advice.least if over else None}
    out: dict[str, Any] = {key: None if level is None else level.word for key, level in words.items()}
    return {**out, "correct": advice.correct if over else None}


def _turns(drill: Drill) -> Iterator[dict[str, Any]]:
    for turn in drill.turns:
        yield {
            "kind": turn.kind, "name": turn.name, "results": dict(turn.results), "minutes": round(turn.minutes, 2),
            "bits": round(turn.bits, 4), "best_bits": round(turn.best_bits, 4), "suspects": list(turn.suspects),
            "sure": turn.sure, "expects": turn.expects,
        }  # fmt: skip
