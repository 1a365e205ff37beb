"""Testability figures on the 6-state example; definitions common practice, numbers own computation.

With checks t1, t2 only: detected .8 by count / .9333 by frequency; isolated to one cause .5 by count /
.3929 by frequency, both of the detected; to two causes 1; expected group size 1.6071 by frequency.
"""

import numpy as np
import pytest

from comeback.engine.analysis.testability import testability as figures
from comeback.engine.belief.network import Network, Observable

STATES = {"s1": "01001", "s2": "00110", "s3": "10011", "s4": "11000", "s5": "11110"}
PRIOR = [0.01, 0.02, 0.1, 0.05, 0.12]


def network():
    observables = {
        f"t{k + 1}": Observable(
            f"t{k + 1}",
            np.array([1.0, 0.0]),
            {i: np.array([0.0, 1.0]) for i, row in enumerate(STATES.values()) if row[k] == "1"},
        )
        for k in range(5)
    }
    return Network(tuple(STATES), np.array(PRIOR), observables)


def test_two_checks():
    found = figures(network(), ["t1", "t2"])
    assert found.detected == pytest.approx(0.9333, abs=5e-5)
    assert found.isolated[1] == pytest.approx(0.3929, abs=5e-5)
    assert found.isolated[2] == pytest.approx(1.0)
    assert found.expected_size == pytest.approx(1.6071, abs=5e-5)
    assert found.groups == (("s5", "s4"), ("s3",), ("s1",))


def test_all_checks_tell_all_states_apart():
    found = figures(network(), ["t1", "t2", "t3", "t4", "t5"])
    assert found.isolated[1] == pytest.approx(1.0)
    assert found.detected == pytest.approx(1.0)
