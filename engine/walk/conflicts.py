"""Findings that hardly go together: which two, and how strongly.

Conflict of two findings: log2 of P(a) P(b) / P(a, b), above zero if they are rarer together than
they would be if they had nothing to do with each other (Jensen, Chamberlain, Nordahl & Jensen 1991,
from memory). Infinite if they exclude each other.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.exact_posterior import log_evidence
from comeback.engine.belief.network import Network

STRONG = 6.0
"""Bits from which two findings are worth a second look: 64 times rarer together; judged."""


@dataclass(frozen=True)
class Conflict:
    """Two findings, the earlier first, and their conflict in bits."""

    earlier: Sighting
    later: Sighting
    bits: float


def strongest_conflict(network: Network, evidence: Evidence) -> Conflict | None:
    """The pair in strongest conflict, None if no pair reaches STRONG."""
    best: Conflict | None = None
    alone = {s: log_evidence(network, Evidence((s,), evidence.removals)) for s in evidence.sightings}
    for one, other in combinations(evidence.sightings, 2):
        bits = _bits(network, evidence, (one, other), alone[one] + alone[other])
        if bits >= STRONG and (best is None or bits > best.bits):
            best = Conflict(one, other, bits)
    return best


def _bits(network: Network, evidence: Evidence, pair: Sequence[Sighting], apart: float) -> float:
    """Pointwise log ratio of together over apart, in bits."""
    together = log_evidence(network, Evidence(tuple(pair), evidence.removals))
    return math.inf if together == -math.inf else (apart - together) / math.log(2)
