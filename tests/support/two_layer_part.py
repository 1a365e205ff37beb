"""The part of a general discrete network that a two-layer noisy-MAX network expresses exactly.

A cause is a root with two states; either state may be taken as "present". An observable is a child
whose parents are all such roots and whose table is noisy-MAX for some order of its results:

    C(r | parents) = C(r | none present) * product over present parents of a ratio that never falls
"""

from itertools import permutations, product

import numpy as np

from comeback.engine.belief.network import Network, Observable

EXACT = 1e-12  # the tables are printed decimals; a near fit is no fit


def fit(table, present):
    """(order of results, leak, one distribution per parent) for states `present`, or None.

    `table`: P(result | parents), shape (results, 2, ..., 2).
    """
    for order in permutations(range(table.shape[0])):
        at_most = np.cumsum(table[list(order)], axis=0)
        none = at_most[(slice(None), *(1 - state for state in present))]
        if none[0] <= 0:
            continue
        ratios = [at_most[(slice(None), *_only(k, present))] / none for k in range(len(present))]
        if all(_is_distribution(ratio) for ratio in ratios) and _explains(at_most, none, ratios, present):
            return order, np.diff(none, prepend=0.0), [np.diff(np.minimum(r, 1), prepend=0.0) for r in ratios]
    return None


def _only(k, present):
    return [state if j == k else 1 - state for j, state in enumerate(present)]


def _is_distribution(ratio):
    return bool((np.diff(ratio, prepend=0.0) >= -EXACT).all() and ratio[-1] <= 1 + EXACT)


def _explains(at_most, none, ratios, present):
    for states in product((0, 1), repeat=len(present)):
        expected = none.copy()
        for state, wanted, ratio in zip(states, present, ratios, strict=True):
            expected = expected * (ratio if state == wanted else 1.0)
        if np.abs(expected - at_most[(slice(None), *states)]).max() > EXACT:
            return False
    return True


def two_layer_part(model):
    """(network, state that means present for each cause, order of results of each observable)."""
    roots = {
        name: model.get_cpds(name).values
        for name in model.nodes
        if not list(model.predecessors(name)) and model.get_cpds(name).cardinality[0] == 2
    }
    present, orders, fits = {}, {}, {}
    for name in model.nodes:
        parents = model.get_cpds(name).variables[1:]
        if not parents or not set(parents) <= set(roots):
            continue
        choices = [(present[p],) if p in present else (0, 1) for p in parents]
        for states in product(*choices):  # a parent keeps the state that an earlier child gave it
            found = fit(model.get_cpds(name).values, states)
            if found:
                present.update(zip(parents, states, strict=True))
                orders[name], fits[name] = found[0], (parents, *found[1:])
                break
    causes = tuple(present)
    observables = {
        name: Observable(name, leak, {causes.index(p): link for p, link in zip(parents, links, strict=True)})
        for name, (parents, leak, links) in fits.items()
    }
    prior = np.array([roots[cause][state] for cause, state in present.items()])
    return Network(causes, prior, observables), present, orders
