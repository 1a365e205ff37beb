"""Three more ways to the same posterior, for yes-or-no networks: slow, or losing digits, or both.

    D  a set of causes   S  a subset of the abnormal findings

Plain enumeration of every D is the oracle for few causes. Inclusion-exclusion over S (Heckerman 1989, from
memory) holds for any number of causes but subtracts; done in sixty decimal digits it is an oracle too.
"""

from decimal import Decimal, localcontext

import numpy as np

from comeback.engine.belief.evidence import Evidence
from comeback.engine.belief.network import Network


def _keeps(network: Network, evidence: Evidence) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Chance that a cause, and that the leak, leaves a finding expected; which findings are abnormal."""
    observables = [network.observables[s.check] for s in evidence.sightings]
    keep = np.ones((len(observables), network.prior.size))
    for k, observable in enumerate(observables):
        for i, chances in observable.links.items():
            keep[k, i] = chances[0]
    leak = np.array([observable.leak[0] for observable in observables])
    return keep, leak, np.array([s.result > 0 for s in evidence.sightings])


def enumeration(network: Network, evidence: Evidence) -> np.ndarray:
    """All 2**causes sets, each weighed straight from the definition of leaky noisy-OR."""
    keep, leak, abnormal = _keeps(network, evidence)
    count = network.prior.size
    sets = (np.arange(1 << count)[:, None] >> np.arange(count)) & 1 == 1
    weight = np.where(sets, network.prior, 1 - network.prior).prod(axis=1)
    for k in range(leak.size):
        expected = leak[k] * np.where(sets, keep[k], 1.0).prod(axis=1)
        weight *= 1 - expected if abnormal[k] else expected
    return weight @ sets / weight.sum()


def inclusion_exclusion(network: Network, evidence: Evidence) -> np.ndarray:
    """Sum over S of (-1)**|S| times the chance that all of S and the expected findings are expected."""
    keep, leak, abnormal = _keeps(network, evidence)
    prior, settled = network.prior, keep[~abnormal].prod(axis=0)
    opened, leaks = keep[abnormal], leak[abnormal]
    subsets = (np.arange(1 << len(leaks))[:, None] >> np.arange(len(leaks))) & 1 == 1
    total, present = 0.0, np.zeros(prior.size)
    for chunk in np.array_split(subsets, max(1, len(subsets) // 4096)):
        there = prior * settled * np.exp(chunk @ np.log(opened))
        mass = there + 1 - prior
        signed = np.where(chunk, -leaks, 1.0).prod(axis=1) * mass.prod(axis=1)
        total += signed.sum()
        present += signed @ (there / mass)
    return present / total


def many_digits(network: Network, evidence: Evidence, digits: int = 60) -> np.ndarray:
    """Inclusion-exclusion in decimal arithmetic of `digits` digits."""
    keep, leak, abnormal = _keeps(network, evidence)
    with localcontext(prec=digits):
        prior = [Decimal(p) for p in network.prior.tolist()]
        start = []
        for i, p in enumerate(prior):
            for value in keep[~abnormal, i].tolist():
                p *= Decimal(value)
            start.append(p)
        opened = [[Decimal(v) for v in row] for row in keep[abnormal].tolist()]
        leaks = [Decimal(v) for v in leak[abnormal].tolist()]
        total, present = _signed(prior, start, opened, leaks)
        return np.array([float(part / total) for part in present])


def _signed(prior, start, opened, leaks):
    total, present = Decimal(0), [Decimal(0)] * len(prior)
    stack = [(0, Decimal(1), start)]  # findings decided, sign times leaks, weight of each cause present
    while stack:
        k, sign, there = stack.pop()
        if k < len(opened):
            stack.append((k + 1, sign, there))
            stack.append((k + 1, -sign * leaks[k], [t * q for t, q in zip(there, opened[k], strict=True)]))
            continue
        mass = [t + 1 - p for t, p in zip(there, prior, strict=True)]
        for factor in mass:
            sign *= factor
        total += sign
        present = [a + sign * t / m for a, t, m in zip(present, there, mass, strict=True)]
    return total, present
