"""Belief on parts of networks that ship with pgmpy, beside its inference on the whole network.

The tables are other people's. A two-layer noisy-MAX network holds only a part of each, found by
two_layer_part.py: in alarm, hepar2 and win95pts causes with one parent per finding, in andes also
findings with two parents; in asia the "either" node once both of its parents' parents are known. Deeper
parts, and tables that are not noisy-MAX, cannot be expressed. Cancer, earthquake, survey, sachs, insurance,
water and hailfinder were searched and have no such part, child has one finding only.
"""

import warnings

import numpy as np
import pytest

from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.exact_posterior import posterior
from comeback.engine.belief.network import Network, Observable
from support import two_layer_part as part

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # what the library warns about while it loads is not ours
    pytest.importorskip("pgmpy", reason="pip install '.[peers]'")
    from pgmpy.inference import VariableElimination
    from pgmpy.utils import get_example_model


pytestmark = [pytest.mark.peers, pytest.mark.filterwarnings("ignore")]

AGREEMENT = 1e-9
FEWEST = {"alarm": 3, "hepar2": 7, "win95pts": 7, "andes": 12}
"""Findings that each part must have at least, so that an empty comparison cannot pass."""


def drawn_results(rng, network):
    """Each cause by the toss of a coin, so that much is abnormal, then findings by noisy-MAX."""
    there = rng.random(network.prior.size) < 0.5
    sightings = []
    for name, observable in network.observables.items():
        givers = [observable.leak, *(chances for i, chances in observable.links.items() if there[i])]
        result = max(int(rng.choice(chances.size, p=chances / chances.sum())) for chances in givers)
        sightings.append(Sighting(name, result))
    return Evidence(tuple(sightings))


@pytest.mark.parametrize("name", FEWEST)
@pytest.mark.parametrize("seed", range(3))
def test_part_of_a_shipped_network_agrees_with_the_whole(name, seed):
    model = get_example_model(name)
    network, present, orders = part.two_layer_part(model)
    assert len(network.observables) >= FEWEST[name]
    evidence = drawn_results(np.random.default_rng(seed), network)
    seen = {
        s.check: model.get_cpds(s.check).state_names[s.check][orders[s.check][s.result]] for s in evidence.sightings
    }
    belief, asked = posterior(network, evidence), VariableElimination(model)
    for cause, state in present.items():
        theirs = asked.query([cause], evidence=seen, show_progress=False).values[state]
        assert belief.probability(cause) == pytest.approx(theirs, abs=AGREEMENT)


@pytest.mark.parametrize("smoke", ["yes", "no"])
@pytest.mark.parametrize("asia", ["yes", "no"])
def test_either_disease_of_the_chest_clinic_shares_out_the_blame(asia, smoke):
    """Both roots known, tuberculosis and cancer are independent causes of "either", a plain OR."""
    model = get_example_model("asia")
    whole, known = VariableElimination(model), {"asia": asia, "smoke": smoke}

    def ask(name, seen):
        factor = whole.query([name], evidence=seen, show_progress=False)
        return float(factor.get_value(**{name: "yes"}))

    certain = np.array([0.0, 1.0])
    either = Observable("either", np.array([1.0, 0.0]), {0: certain, 1: certain})
    prior = np.array([ask("tub", known), ask("lung", known)])
    network = Network(("tub", "lung"), prior, {"either": either})
    belief = posterior(network, Evidence((Sighting("either", 1),)))
    for name in network.causes:
        assert belief.probability(name) == pytest.approx(ask(name, known | {"either": "yes"}), abs=AGREEMENT)
