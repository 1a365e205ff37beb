"""What wrong frequencies would cost: minutes in the bay that the walk loses because it believes the shipped ones.

  python tests/benchmarks/bench_regret.py [WORLDS [CARS]]

In each world every frequency is twice or half what the files say, by the toss of a coin; frequencies are judged, so
the true ones may well be that far off. Cars are drawn from that world. Each is worked on twice, from the call on, by
the same people: by a walk that believes the files and by one that knows the world. Regret is the difference of their
minutes, a car handed over counted as `hand_over_minutes`. It says how much better judgements would be worth at most;
not whether the chances of the signs are right.
"""

import sys

import numpy as np

from comeback.engine.rehearsal.rehearsal import HANDED_OVER, RIGHT_SPECIALIST, guided_end
from comeback.engine.rehearsal.simulated_walk import Memory, begin, go_on, take_over
from comeback.engine.rehearsal.simulation import CAREFUL, Comeback, Person, car_of, culprits, draw_comeback
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


def minutes(believed: KnowledgeBase, comeback: Comeback, memory: Memory) -> float:
    """Minutes of the bay on this car, by a walk that believes these frequencies, after the call that it led."""
    call = begin(believed, comeback.service, comeback.complaint, Audience.PHONE)
    called = go_on(call, Person(car_of(believed, comeback), "caller", CAREFUL), memory)
    person = Person(car_of(believed, comeback), "bay", CAREFUL)
    target = culprits(person.car, comeback.complaint)
    bay = go_on(take_over(called.walk), person, memory)
    handed = guided_end(bay, person.car, target) in (HANDED_OVER, RIGHT_SPECIALIST)
    return bay.minutes + handed * believed.settings.hand_over_minutes


def main(worlds: int = 4, cars: int = 60) -> None:
    """Print the mean minutes of both walks, the regret with its standard error, world by world."""
    shipped, every = load_knowledge(), []
    print("| world | believes the files | knows the world | regret |")
    print("|--:|--:|--:|--:|")
    for seed in range(1, worlds + 1):
        world, pairs = world_of(shipped, seed), []
        memories = Memory(), Memory()
        for number in range(cars):
            comeback = draw_comeback(world, seed * 10_000 + number)
            if comeback is not None:
                both = zip((shipped, world), memories, strict=True)
                pairs.append([minutes(believed, comeback, memory) for believed, memory in both])
        mean = np.mean(pairs, axis=0)
        every += [ours - best for ours, best in pairs]
        print(f"| {seed} | {mean[0]:.1f} | {mean[1]:.1f} | {mean[0] - mean[1]:+.1f} |")
    print(f"regret {np.mean(every):+.1f} min a car, standard error {np.std(every) / len(every) ** 0.5:.1f}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
