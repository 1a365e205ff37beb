"""Findings that hardly go together are named, and a case is never stuck on them."""

import math

import numpy as np

from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.network import Network, Observable
from comeback.engine.walk.conflicts import strongest_conflict


def network(leak):
    seat = Observable("seat", np.array([1 - leak, leak]), {0: np.array([0.01, 0.99])})
    hiss = Observable("hiss", np.array([1 - leak, leak]), {0: np.array([0.0, 1.0])})
    lamp = Observable("lamp", np.array([0.9, 0.1]), {0: np.array([0.5, 0.5])})
    return Network(("hose",), np.array([0.3]), {"seat": seat, "hiss": hiss, "lamp": lamp})


def test_a_loose_hose_that_does_not_hiss():
    loose, silent = Sighting("seat", 1), Sighting("hiss", 0)
    evidence = Evidence((Sighting("lamp", 1), loose, silent))
    found = strongest_conflict(network(0.0005), evidence)
    assert (found.earlier, found.later) == (loose, silent)
    assert found.bits > 6


def test_findings_that_exclude_each_other_conflict_without_limit():
    evidence = Evidence((Sighting("seat", 1), Sighting("hiss", 0)))
    assert strongest_conflict(network(0.0), evidence).bits == math.inf


def test_ordinary_findings_do_not():
    assert strongest_conflict(network(0.05), Evidence((Sighting("seat", 1), Sighting("hiss", 1)))) is None
