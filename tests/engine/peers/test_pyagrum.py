"""Belief beside pyAgrum's exact inference (LazyPropagation), on random networks.

Noisy-OR goes in as pyAgrum's own noisy-OR nodes, noisy-MAX as full tables.
"""

import math
import warnings

import numpy as np
import pytest

from comeback.engine.belief.exact_posterior import posterior
from support import random_networks as draw

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # what the library warns about while it loads is not ours
    gum = pytest.importorskip("pyagrum", reason="pip install '.[peers]'")


pytestmark = [pytest.mark.peers, pytest.mark.filterwarnings("ignore")]

AGREEMENT = 1e-10  # both are exact; what is left is rounding


def causes_of(network):
    net = gum.BayesNet()
    for cause, prior in zip(network.causes, network.prior.tolist(), strict=True):
        net.add(gum.LabelizedVariable(cause, "", 2))
        net.cpt(cause).fillWith([1 - prior, prior])
    return net


def with_noisy_or(network):
    net = causes_of(network)
    for name, observable in network.observables.items():
        net.addNoisyORNet(gum.LabelizedVariable(name, "", 2), float(observable.leak[1]))
        for i, chances in observable.links.items():
            net.addWeightedArc(network.causes[i], name, float(chances[1]))
    return net


def with_tables(network):
    net = causes_of(network)
    for name, observable in network.observables.items():
        net.add(gum.LabelizedVariable(name, "", observable.leak.size))
        for i in observable.links:
            net.addArc(network.causes[i], name)
        chances = draw.table(observable)
        parents = [network.causes[i] for i in observable.links]
        for values in np.ndindex(*chances.shape[1:]):
            net.cpt(name)[dict(zip(parents, values, strict=True))] = chances[(slice(None), *values)].tolist()
    return net


def ask(net, network, evidence):
    """Posterior of every cause, and log of the chance of the evidence."""
    engine = gum.LazyPropagation(net)
    engine.setEvidence({sighting.check: sighting.result for sighting in evidence.sightings})
    engine.makeInference()
    present = np.array([float(engine.posterior(cause)[1]) for cause in network.causes])
    return present, math.log(engine.evidenceProbability())


def compare(network, evidence, net):
    present, log_chance = ask(net, network, evidence)
    belief = posterior(network, evidence)
    assert np.abs(belief.present - present).max() < AGREEMENT
    assert belief.log_evidence == pytest.approx(log_chance, abs=1e-8)


@pytest.mark.parametrize("abnormal", range(3, 13))
def test_noisy_or_belief_agrees(abnormal):
    rng = np.random.default_rng(abnormal)
    network = draw.noisy_or_network(rng, causes=20, findings=16, parents=5)
    compare(network, draw.evidence_of(rng, network, abnormal), with_noisy_or(network))


@pytest.mark.parametrize("causes", [40, 80])
def test_noisy_or_belief_agrees_on_wide_networks(causes):
    rng = np.random.default_rng(causes)
    network = draw.noisy_or_network(rng, causes, findings=14, parents=6)
    compare(network, draw.evidence_of(rng, network, 8), with_noisy_or(network))


@pytest.mark.parametrize("abnormal", range(3, 13))
def test_noisy_max_belief_agrees_with_full_tables(abnormal):
    rng = np.random.default_rng(100 + abnormal)
    network = draw.noisy_max_network(rng, causes=14, findings=14, parents=4)
    compare(network, draw.evidence_of(rng, network, abnormal), with_tables(network))
