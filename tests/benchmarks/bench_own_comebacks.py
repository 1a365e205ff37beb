"""Comebacks written outside the knowledge, played on the phone and in the bay: fixed or not, screens, advice.

  python tests/benchmarks/bench_own_comebacks.py [FILE]

The comebacks and their sources: tests/data/own_comebacks.yaml, or another file of the same form. Everybody answers
by the facts written there, and as if nothing were wrong where none is written. `needed` is what the writer of the
comeback would have advised.
"""

import sys
from pathlib import Path

from comeback.kb import load_knowledge

sys.path.insert(0, str(Path(__file__).parent.parent))
from support.own_comebacks import Played, play, read_own_comebacks


def main() -> None:
    """Play all and print the table and its sums."""
    knowledge = load_knowledge()
    files = [Path(name) for name in sys.argv[1:]]
    played = [play(knowledge, comeback) for comeback in read_own_comebacks(*files).values()]
    print("| comeback | rank in the bay | end | first repair right | bay screens | call screens | advice | needed |")
    print("|---|--:|---|---|--:|--:|---|---|")
    for one in played:
        print(row(one))
    first = sum(one.first_right for one in played)
    milder = sum(one.advice is None or one.advice < one.comeback.needed for one in played)
    print(f"fixed {sum(one.fixed for one in played)} of {len(played)}, first repair right {first}, milder {milder}")
    print(f"among the first three: {sum(one.rank is not None and one.rank <= 3 for one in played)}")
    print(f"screens in the bay: {sum(one.screens for one in played) / len(played):.1f} on average")


def row(one: Played) -> str:
    """One line of the table."""
    advice = one.advice.word if one.advice is not None else "none"
    first = "yes" if one.first_right else (one.repairs[0] if one.repairs else "none done")
    cells = (one.comeback.name, one.rank, one.end, first, one.screens, one.questions, advice, one.comeback.needed.word)
    return f"| {' | '.join(map(str, cells))} |"


if __name__ == "__main__":
    main()
