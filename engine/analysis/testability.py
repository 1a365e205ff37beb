"""What the checks can tell apart at all, before any car comes: ambiguity groups and shares isolated.

A cause's signature is what it shows in each check. Two causes are ambiguous if no check's results
differ between them by more than a margin (total variation distance). Denominators are stated with
every figure, because they differ between authors (IEEE Std 1522 terms, from memory; formulas not
confirmed): D1 all causes by frequency, D2 detected causes by frequency.
"""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from comeback.engine.belief.network import Network

MARGIN = 0.25
"""Least difference of two result distributions that counts as telling apart: seen once in four cars."""


@dataclass(frozen=True)
class Testability:
    """`groups`: causes that no check tells apart, by decreasing frequency; single causes are groups of one.

    `detected`: share of D1 whose causes differ from "nothing wrong" in some check. `isolated[k]`: share
    of D2 in groups of at most k causes. `expected_size`: mean group size over D2.
    """

    groups: tuple[tuple[str, ...], ...]
    detected: float
    isolated: dict[int, float]
    expected_size: float


def testability(network: Network, checks: Collection[str], margin: float = MARGIN) -> Testability:  # noqa: PT028
    """Testability of the network's causes by `checks`."""
    count = len(network.causes)
    apart = np.zeros((count + 1, count + 1))  # the last row is "nothing wrong"
    for name in checks:
        if network.observables[name].links:
            rows = _shown(network, name)
            apart = np.maximum(apart, 0.5 * np.abs(rows[:, None, :] - rows[None, :, :]).sum(axis=2))
    detected = apart[:count, count] >= margin
    groups = _groups(network, apart[:count, :count] < margin, detected)
    masses = [(float(network.prior[group].sum()), len(group)) for group in groups]
    found = max(sum(mass for mass, _ in masses), 1e-300)
    return Testability(
        tuple(tuple(network.causes[i] for i in group) for group in groups),
        float(network.prior[detected].sum() / network.prior.sum()),
        {size: sum(mass for mass, number in masses if number <= size) / found for size in (1, 2, 3)},
        sum(mass * number for mass, number in masses) / found,
    )


def _shown(network: Network, check: str) -> np.ndarray:
    """(causes + 1, results): distribution of the check's results with each cause alone, then with none."""
    observable = network.observables[check]
    leak = np.cumsum(observable.leak)
    rows = np.tile(leak, (len(network.causes) + 1, 1))
    for cause, chances in observable.links.items():
        rows[cause] = leak * np.cumsum(chances)
    return np.diff(rows, axis=1, prepend=0.0)


def _groups(network: Network, same: np.ndarray, detected: np.ndarray) -> list[list[int]]:
    """Detected causes joined wherever a pair is ambiguous, the most frequent group first."""
    import networkx as nx  # slow to load, and most commands do without

    graph: nx.Graph[int] = nx.Graph()
    graph.add_nodes_from(int(i) for i in np.flatnonzero(detected))
    graph.add_edges_from((int(i), int(j)) for i, j in np.argwhere(same) if i < j and detected[i] and detected[j])
    weight = network.prior
    groups = [sorted(part, key=lambda i: (-float(weight[i]), i)) for part in nx.connected_components(graph)]
    return sorted(groups, key=lambda group: (-float(weight[group].sum()), min(group)))
