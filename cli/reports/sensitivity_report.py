"""How firmly the first advice stands while the numbers are shaken, in words and tables."""

import math
from collections.abc import Iterator
from typing import Any

from comeback.engine.analysis.sensitivity import Sensitivity, disposition_changed, disposition_lower, step_changed
from comeback.kb.schema import KnowledgeBase

MOST = 15


def sensitivity_data(knowledge: KnowledgeBase, found: Sensitivity, noise: float, seed: int) -> dict[str, Any]:
    """The figures as plain data; shares 0 to 1, frequencies in 1000 cars."""
    return {
        "noise": noise,
        "seed": seed,
        "runs": len(found.noisy),
        "pairs": len(found.pairs),
        "step_unchanged": 1 - found.share(step_changed),
        "disposition_unchanged": 1 - found.share(disposition_changed),
        "disposition_lower": found.share(disposition_lower),
        "complaints": [
            {
                "complaint": name,
                "step_changed": found.share(step_changed, name),
                "disposition_changed": found.share(disposition_changed, name),
                "commonest": found.commonest_other(name),
            }
            for name in found.complaints
        ],
        "numbers_that_matter": [
            {
                "cause": cause,
                "frequency": knowledge.causes[cause].frequency,
                "advices": len(pairs),
                "complaints": sorted({complaint for _, complaint in pairs}),
            }
            for cause, pairs in sorted(found.hinges.items(), key=lambda hinge: (-len(hinge[1]), hinge[0]))
        ],
    }


def sensitivity_lines(data: dict[str, Any]) -> Iterator[str]:
    """The figures as paragraphs and tables; paragraphs still have to be wrapped."""
    factor = math.exp(data["noise"])
    yield (
        f"First advice of {data['pairs']} pairs of service and complaint, no danger sign seen, car unknown. "
        f"All frequencies and chances were varied {data['runs']} times, two out of three by less than a factor of "
        f"{factor:.1f} (seed {data['seed']})."
    )
    yield f"{_percent(data['step_unchanged'])} of first steps in the bay unchanged"
    yield (
        f"{_percent(data['disposition_unchanged'])} of dispositions unchanged; {_percent(data['disposition_lower'])}"
        " became less urgent"
    )
    yield ""
    yield "% changed".ljust(26) + "step   told  step mostly changed"
    for row in data["complaints"][:MOST]:
        common = row["commonest"]
        change = f"{_step(common[0])} -> {_step(common[1])}" if common else ""
        shares = f"{_percent(row['step_changed']):>6}{_percent(row['disposition_changed']):>7}"
        yield f"{row['complaint'][:24]:24}{shares}  {change[:40]}"
    yield ""
    yield from _numbers(data["numbers_that_matter"], factor)


def _numbers(rows: list[dict[str, Any]], factor: float) -> Iterator[str]:
    if not rows:
        yield f"No leading cause changes any first advice when it alone is {factor:.1f} times as common or as rare."
        return
    yield f"First advice that changes when one cause alone is {factor:.1f} times as common or as rare:"
    for row in rows[:MOST]:
        yield f"{row['advices']:3}  {row['cause']:26} {row['frequency']:g} in 1000: {', '.join(row['complaints'])}"
    if len(rows) > MOST:
        yield f"{len(rows) - MOST} more of them: --json"


def _step(step: tuple[str, str]) -> str:
    return step[1] or step[0]


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"
