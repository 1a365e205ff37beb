"""Whole sets of present causes, those that the findings do not need included, to be put beside plain enumeration."""

import numpy as np

from comeback.engine.belief.cause_sets import WANTED_SHARE, CauseSets, _listed, _present
from comeback.engine.belief.evidence import Evidence
from comeback.engine.belief.network import Network


def probable_sets(network: Network, evidence: Evidence, share: float = WANTED_SHARE) -> CauseSets:
    """Sets of live causes, most probable first, until `share` is held or MOST_SETS are listed.

    Raises what `posterior` raises.
    """
    belief, items, rows, held = _listed(network, evidence, share)
    now = _present(rows, items, belief)
    return CauseSets(
        belief, belief.live, now, held / held.sum(), min(1.0, float(held.sum())), np.zeros(len(belief.live))
    )
