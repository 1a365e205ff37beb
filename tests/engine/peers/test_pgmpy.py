"""Belief beside pgmpy's VariableElimination, on random networks written as full tables."""

import warnings

import numpy as np
import pytest

from comeback.engine.belief.exact_posterior import posterior
from support import random_networks as draw

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # what the library warns about while it loads is not ours
    pytest.importorskip("pgmpy", reason="pip install '.[peers]'")
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork


pytestmark = [pytest.mark.peers, pytest.mark.filterwarnings("ignore")]

AGREEMENT = 1e-9  # exact on both sides; the peer multiplies large tables


def with_tables(network):
    net = DiscreteBayesianNetwork()
    net.add_nodes_from(network.causes)
    tables = [
        TabularCPD(cause, 2, [[1 - prior], [prior]])
        for cause, prior in zip(network.causes, network.prior.tolist(), strict=True)
    ]
    for name, observable in network.observables.items():
        parents = [network.causes[i] for i in observable.links]
        net.add_edges_from([(parent, name) for parent in parents])
        values = draw.table(observable).reshape(observable.leak.size, -1)
        tables.append(TabularCPD(name, observable.leak.size, values, parents, [2] * len(parents)))
    net.add_cpds(*tables)
    return net


def compare(network, evidence):
    asked = VariableElimination(with_tables(network))
    seen = {sighting.check: sighting.result for sighting in evidence.sightings}
    belief = posterior(network, evidence)
    for cause in network.causes:
        theirs = asked.query([cause], evidence=seen, show_progress=False).values[1]
        assert belief.probability(cause) == pytest.approx(theirs, abs=AGREEMENT)


@pytest.mark.parametrize("abnormal", range(3, 13))
def test_noisy_or_belief_agrees(abnormal):
    rng = np.random.default_rng(200 + abnormal)
    network = draw.noisy_or_network(rng, causes=10, findings=13, parents=4)
    compare(network, draw.evidence_of(rng, network, abnormal))


@pytest.mark.parametrize("abnormal", [3, 6, 9, 12])
def test_noisy_max_belief_agrees(abnormal):
    rng = np.random.default_rng(300 + abnormal)
    network = draw.noisy_max_network(rng, causes=9, findings=13, parents=4)
    compare(network, draw.evidence_of(rng, network, abnormal))
