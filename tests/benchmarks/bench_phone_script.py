"""The phone script as callers hear it: questions and minutes of simulated calls, and its reading grade.

  python tests/benchmarks/bench_phone_script.py --calls 150 --seed 1

Spoken are the driving question, the open question, the danger signs one by one, each question, the
advice, when to call again, and the read-back, at 150 words a minute; the caller's answers are not
counted. A question is a turn of the caller: the danger signs count one by one. Aims: at most 12
in the median and 4 minutes; grade 7 (Flesch-Kincaid, Kincaid et al. 1975) over each complaint's script.
"""

import argparse

import bench_questions_left
import bench_walks
import numpy as np

from comeback.cli.screens import wording
from comeback.cli.screens.spoken import confirm_back
from comeback.engine.rehearsal.simulated_walk import respond
from comeback.engine.walk import steps
from comeback.kb.rules.readability import measure
from comeback.kb.vocabulary import Audience

KNOWLEDGE = bench_walks.KNOWLEDGE
WORDS_PER_MINUTE = 150


def spoken(seed: int) -> tuple[str, list[str], int] | None:
    """One simulated call: its complaint, all that is read aloud, and the number of questions."""
    found = bench_questions_left.begun(Audience.PHONE, seed)
    if found is None:
        return None
    walk, person = found
    said, count = [wording.DRIVING, wording.OPEN_QUESTION], 2
    while not isinstance(walk.step, steps.Advise):
        match walk.step:
            case steps.DangerScreen(checks):
                said += [wording.DANGER_PHONE, *(str(KNOWLEDGE.checks[check].say) for check in checks)]
                count += len(checks)
            case steps.MakeCheck(check=check):
                said.append(str(KNOWLEDGE.checks[check].say))
                count += 1
            case _:
                return None
        _, walk = respond(walk, walk.step, person)
    advice = KNOWLEDGE.dispositions[walk.step.disposition]
    said += [*advice.say, *advice.worse, confirm_back(walk, walk.step)]
    return str(walk.case.complaint), said, count + 1


def main() -> None:
    """Call and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--calls", type=int, default=150)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    calls = [c for n in range(given.calls) if (c := spoken(10_000 * given.seed + n))]
    counts = np.array([count for _, _, count in calls])
    minutes = np.array([measure(said).words / WORDS_PER_MINUTE for _, said, _ in calls])
    scripts: dict[str, list[str]] = {}
    for complaint, said, _ in calls:
        scripts.setdefault(complaint, []).extend(s for s in said if s not in scripts.get(complaint, ()))
    grades = {name: measure(said).grade for name, said in scripts.items() if measure(said).words >= 100}
    print("| figure | median | 95 % | worst |\n|---|--:|--:|--:|")
    for name, values in (
        ("questions", counts),
        ("minutes read aloud", minutes),
        ("grade", np.array([*grades.values()])),
    ):
        print(f"| {name} | {np.median(values):.1f} | {np.quantile(values, 0.95):.1f} | {values.max():.1f} |")
    print(f"{len(calls)} calls, {len(grades)} complaints; hardest: {max(grades, key=lambda name: grades[name])}")


if __name__ == "__main__":
    main()
