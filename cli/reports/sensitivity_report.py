"""How firmly the first advice stands while the numbers are shaken, in words and tables."""

from collections.abc import Iterator
from typing import Any

import numpy as np

from comeback.engine.analysis.sensitivity import FEWEST_RUNS, Sensitivity

MOST = 15


def sensitivity_data(found: Sensitivity, chance: np.random.Generator, noise: float, seed: int) -> dict[str, Any]:
    """The figures as plain data; shares 0 to 1."""
    return {
        "noise": noise,
        "seed": seed,
        "runs": len(found.noisy),
        "pairs": len(found.pairs),
        "numbers": len(found.numbers),
        "step_unchanged": 1 - float(found.step_changed.mean()),
        "disposition_unchanged": 1 - float(found.disposition_changed.mean()),
        "disposition_lower": float(found.disposition_lower.mean()),
        "services": [_service(found, name) for name in dict.fromkeys(service for service, _ in found.pairs)],
        "complaints": [
            {"complaint": name, "step_changed": step, "disposition_changed": disposition,
             "commonest": found.commonest_other(name)}
            for name, step, disposition in found.by_complaint()
        ],
        "numbers_that_matter": [
            {"number": list(number), "correlation": value} for number, value in found.leading_numbers(chance)
        ],
    }  # fmt: skip


def _service(found: Sensitivity, service: str) -> dict[str, Any]:
    own = np.array([name == service for name, _ in found.pairs])
    return {
        "service": service,
        "step_unchanged": 1 - float(found.step_changed[own].mean()),
        "disposition_unchanged": 1 - float(found.disposition_changed[own].mean()),
    }


def sensitivity_lines(data: dict[str, Any]) -> Iterator[str]:
    """The same as paragraphs and tables; paragraphs still have to be wrapped."""
    trials = data["pairs"] * data["runs"]
    yield (
        f"{data['numbers']} frequencies and chances shaken {data['runs']} times (normal, standard deviation "
        f"{data['noise']:g} in natural log-odds, seed {data['seed']}); {data['pairs']} pairs of service and complaint, "
        f"{trials} first advices. All danger signs absent, car unknown."
    )
    yield f"{_percent(data['step_unchanged'])} of first steps in the bay unchanged"
    yield (
        f"{_percent(data['disposition_unchanged'])} of dispositions unchanged; {_percent(data['disposition_lower'])}"
        + (" became less urgent")
    )
    yield ""
    yield "service".ljust(24) + "unchanged: step  disposition"
    for row in data["services"]:
        yield f"{row['service']:24}{_percent(row['step_unchanged']):>15}{_percent(row['disposition_unchanged']):>13}"
    yield ""
    yield "% changed".ljust(26) + "step   told  step mostly changed"
    for row in data["complaints"][:MOST]:
        common = row["commonest"]
        change = f"{_step(common[0])} -> {_step(common[1])}" if common else ""
        shares = f"{_percent(row['step_changed']):>6}{_percent(row['disposition_changed']):>7}"
        yield f"{row['complaint'][:24]:24}{shares}  {change[:40]}"
    yield ""
    yield from _numbers(data)


def _numbers(data: dict[str, Any]) -> Iterator[str]:
    leading = data["numbers_that_matter"]
    if data["runs"] < FEWEST_RUNS:
        yield f"Which numbers matter can be told from {FEWEST_RUNS} runs on: add --runs {FEWEST_RUNS} or more."
        return
    if not leading:
        yield (
            f"No single number goes with the changes more than chance allows in {data['runs']} runs. "
            "More --runs see smaller effects."
        )
        return
    yield "Numbers that go with the changes beyond chance (mean correlation over the pairs they bear on):"
    for row in leading[:MOST]:
        yield f"{row['correlation']:6.2f}  {' '.join(row['number'])}"


def _step(step: tuple[str, str]) -> str:
    return step[1] or step[0]


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"
