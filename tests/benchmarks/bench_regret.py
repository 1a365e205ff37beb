"""What wrong frequencies would cost: minutes in the bay that the walk loses because it believes the shipped ones.

  python tests/benchmarks/bench_regret.py [WORLDS [CARS]]

In each world every frequency is twice or half what the files say, by the toss of a coin; frequencies are judged, so
the true ones may well be that far off. Cars are drawn from that world. Each is worked on twice, from the call on, by
the same people: by a walk that believes the files and by one that knows the world. Regret is the difference of their
minutes; cars handed over to nobody in particular are counted beside it. It says what better judgements would be worth
at most, not whether the chances of the signs are right.
"""

import sys

import numpy as np

from comeback.engine.rehearsal.rehearsal import HANDED_OVER, guided_end
from comeback.engine.rehearsal.simulated_walk import Memory, asked_after_advice, go_on, take_over
from comeback.engine.rehearsal.simulation import CAREFUL, Comeback, Person, car_of, culprits, draw_comeback
from comeback.engine.walk.walk import begin_walk
from comeback.kb import load_knowledge
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

FACTOR = 2.0
"""How far a judged frequency may be off; judged."""
MOST = 900.0
"""No frequency above this of 1000."""


def world_of(knowledge: KnowledgeBase, seed: int) -> KnowledgeBase:
    """The knowledge with every frequency doubled or halved."""
    coins = np.random.default_rng(seed).choice([FACTOR, 1 / FACTOR], len(knowledge.causes))
    causes = {
        name: cause.model_copy(update={"frequency": min(MOST, cause.frequency * coin)})
        for (name, cause), coin in zip(knowledge.causes.items(), coins, strict=True)
    }
    return knowledge.model_copy(update={"causes": causes, "version": f"{knowledge.version}-{seed}"})


def worked(believed: KnowledgeBase, comeback: Comeback, memory: Memory) -> tuple[float, bool]:
    """Minutes of the bay on this car and whether it was handed over, by a walk that believes these frequencies.

    A car that the caller alone has put right does not come in: no minutes.
    """
    call = begin_walk(believed, comeback.service, comeback.complaint, Audience.PHONE)
    caller = Person(car_of(believed, comeback), "caller", CAREFUL)
    called = asked_after_advice(go_on(call, caller, memory), caller, memory)
    person = Person(car_of(believed, comeback), "bay", CAREFUL)
    target, solved = culprits(person.car, comeback.complaint), called.walk.case.solved
    if solved is not None:
        person.car.repair(solved.repair)
        if not target & person.car.present:
            return 0.0, False
    bay = go_on(take_over(called.walk), person, memory)
    return bay.minutes, guided_end(bay, person.car, target) == HANDED_OVER


def main(worlds: int = 4, cars: int = 60) -> None:
    """Print the mean minutes of both walks, the regret with its standard error, and what was handed over."""
    shipped, every = load_knowledge(), []
    print("| world | believes the files | knows the world | regret | handed over | handed over |")
    print("|--:|--:|--:|--:|--:|--:|")
    for seed in range(1, worlds + 1):
        world, memories = world_of(shipped, seed), (Memory(), Memory())
        drawn = (draw_comeback(world, seed * 10_000 + number) for number in range(cars))
        both = [
            [worked(believed, comeback, memory) for believed, memory in zip((shipped, world), memories, strict=True)]
            for comeback in drawn
            if comeback is not None
        ]
        (ours, handed), (best, handed_best) = np.mean(both, axis=0)
        every += [ours - best for (ours, _), (best, _) in both]
        print(f"| {seed} | {ours:.1f} | {best:.1f} | {ours - best:+.1f} | {handed:.0%} | {handed_best:.0%} |")
    print(f"regret {np.mean(every):+.1f} min a car, standard error {np.std(every) / len(every) ** 0.5:.1f}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
