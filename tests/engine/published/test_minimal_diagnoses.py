"""Minimal diagnoses of the three-multiplier, two-adder circuit out of the listed sets of causes.

De Kleer & Williams, Diagnosing Multiple Faults, Artificial Intelligence 32 (1987) 97-130 (only the
abstract read). Circuit and minimal diagnoses {M1}, {A1}, {M2, M3}, {M2, A2} are from memory, confirmed
by computation. Inputs A=3, B=2, C=2, D=3, E=3; seen F=10 and G=12.

The circuit itself is no noisy-MAX network: M2 alone cannot be wrong, M2 and M3 together can, while under
noisy-MAX one more cause never makes an abnormal finding less likely. Its two conflicts are one: some part
of each must be wrong, so each is a finding that any of its parts gives for certain and nothing else gives.
    M1, M2, A1        X + Y = 12, but F = 10
    M1, M3, A1, A2    Y = 10 - 6 = 4, so G would be 10, but G = 12
"""

from itertools import combinations

import numpy as np

from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.network import Network, Observable
from support.probable_sets import probable_sets

PARTS = ("M1", "M2", "M3", "A1", "A2")
CONFLICTS = (("M1", "M2", "A1"), ("M1", "M3", "A1", "A2"))
MINIMAL = {frozenset({"M1"}), frozenset({"A1"}), frozenset({"M2", "M3"}), frozenset({"M2", "A2"})}

IMPOSSIBLE = 1e-100
"""The list keeps sets that explain nothing with a weight of about 1e-300, to grow larger ones from."""


def circuit():
    certain = np.array([0.0, 1.0])
    observables = {
        "-".join(parts): Observable(
            "-".join(parts), np.array([1.0, 0.0]), {PARTS.index(part): certain for part in parts}
        )
        for parts in CONFLICTS
    }
    return Network(PARTS, np.full(len(PARTS), 0.01), observables)


def minimal(sets):
    return {small for small in sets if not any(other < small for other in sets)}


def consistent(wrong):
    """Straight from the circuit: some output of the wrong parts explains F and G."""
    any_number = range(-20, 40)
    xs, ys, zs = (any_number if part in wrong else (6,) for part in ("M1", "M2", "M3"))
    return any(("A1" in wrong or x + y == 10) and ("A2" in wrong or y + z == 12) for x in xs for y in ys for z in zs)


def test_listed_sets_contain_exactly_the_published_minimal_diagnoses():
    network = circuit()
    evidence = Evidence(tuple(Sighting(name, 1) for name in network.observables))
    sets = probable_sets(network, evidence, share=1.0)
    possible = {frozenset(sets.causes(row)) for row in np.flatnonzero(sets.weights > IMPOSSIBLE)}
    assert minimal(possible) == MINIMAL


def test_published_minimal_diagnoses_follow_from_the_circuit():
    every = [frozenset(c) for size in range(len(PARTS) + 1) for c in combinations(PARTS, size)]
    assert minimal({wrong for wrong in every if consistent(wrong)}) == MINIMAL
