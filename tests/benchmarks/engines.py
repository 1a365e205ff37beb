"""The engine and the peers behind one signature: each gives a function that answers one question.

Building a peer's network is not timed, answering is. Peers are imported only where they are asked for.
"""

from collections.abc import Callable
from importlib.util import find_spec

import numpy as np

from comeback.engine.belief.evidence import Evidence
from comeback.engine.belief.exact_posterior import posterior
from comeback.engine.belief.network import Network

Answer = Callable[[], np.ndarray]


def comeback(network: Network, evidence: Evidence) -> Answer:
    """This engine."""
    return lambda: posterior(network, evidence).present


def pyagrum(network: Network, evidence: Evidence) -> Answer:
    """Its own noisy-OR nodes and LazyPropagation."""
    import pyagrum as gum

    net = gum.BayesNet()
    for cause, prior in zip(network.causes, network.prior.tolist(), strict=True):
        net.add(gum.LabelizedVariable(cause, "", 2))
        net.cpt(cause).fillWith([1 - prior, prior])
    for name, observable in network.observables.items():
        net.addNoisyORNet(gum.LabelizedVariable(name, "", 2), float(observable.leak[1]))
        for i, chances in observable.links.items():
            net.addWeightedArc(network.causes[i], name, float(chances[1]))

    def answer() -> np.ndarray:
        asked = gum.LazyPropagation(net)
        asked.setEvidence({s.check: s.result for s in evidence.sightings})
        asked.makeInference()
        return np.array([float(asked.posterior(cause)[1]) for cause in network.causes])

    return answer


def pgmpy(network: Network, evidence: Evidence) -> Answer:
    """Full tables (its noisy-OR node has no leak) and VariableElimination."""
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork

    net = DiscreteBayesianNetwork()
    net.add_nodes_from(network.causes)
    tables = [TabularCPD(c, 2, [[1 - p], [p]]) for c, p in zip(network.causes, network.prior, strict=True)]
    for name, observable in network.observables.items():
        parents = [network.causes[i] for i in observable.links]
        net.add_edges_from([(parent, name) for parent in parents])
        expected = observable.leak[:1]
        for chances in observable.links.values():
            expected = np.outer(expected, [1.0, chances[0]]).ravel()
        tables.append(TabularCPD(name, 2, [expected, 1 - expected], parents, [2] * len(parents)))
    net.add_cpds(*tables)

    def answer() -> np.ndarray:
        asked, seen = VariableElimination(net), {s.check: s.result for s in evidence.sightings}
        found = [asked.query([c], evidence=seen, show_progress=False) for c in network.causes]
        return np.array([float(factor.values[1]) for factor in found])

    return answer


ENGINES = {"comeback": comeback, "pyagrum": pyagrum, "pgmpy": pgmpy}


def available() -> list[str]:
    """Names of the engines that import here, this one first."""
    return [name for name in ENGINES if name == "comeback" or find_spec(name)]
