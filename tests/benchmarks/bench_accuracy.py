"""Correct digits of the posterior: this engine, and inclusion-exclusion in ordinary double precision.

    python tests/benchmarks/bench_accuracy.py

Prints a Markdown table. The reference is plain enumeration up to 14 causes, and inclusion-exclusion in
sixty decimal digits above. Digits: -log10 of the largest relative error over all causes.
"""

import argparse
import math

import numpy as np
from bench_belief import numbers
from planted import planted_evidence, planted_network
from references import enumeration, inclusion_exclusion, many_digits

from comeback.engine.belief.exact_posterior import posterior

FEW_CAUSES = 14
"""Enumeration lists 2**14 sets at most."""


def main() -> None:
    """Read the arguments and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--causes", type=numbers, default=[10, 14, 50, 120, 200])
    parser.add_argument("--abnormal", type=numbers, default=[4, 8, 10, 12, 14])
    parser.add_argument("--parents", type=int, default=6, help="causes per finding")
    chosen = parser.parse_args()
    print(f"{chosen.parents} causes per finding\n")
    print("| causes | abnormal | reference | digits, this engine | digits, inclusion-exclusion | outside 0..1 |")
    print("|--:|--:|---|--:|--:|--:|", flush=True)
    for causes in chosen.causes:
        for abnormal in chosen.abnormal:
            print(row(causes, abnormal, chosen.parents), flush=True)


def row(causes: int, abnormal: int, parents: int) -> str:
    """One case; the last column counts posteriors of inclusion-exclusion that are no probabilities."""
    network, evidence = planted_network(causes, parents), planted_evidence(abnormal)
    few = causes <= FEW_CAUSES
    exact = enumeration(network, evidence) if few else many_digits(network, evidence)
    ours, theirs = posterior(network, evidence).present, inclusion_exclusion(network, evidence)
    outside = int(((theirs < 0) | (theirs > 1)).sum())
    reference = "enumeration" if few else "60 digits"
    cells = (causes, abnormal, reference, digits(ours, exact), digits(theirs, exact), outside)
    return f"| {' | '.join(map(str, cells))} |"


def digits(found: np.ndarray, exact: np.ndarray) -> str:
    """Correct decimal digits of the worst posterior, 16 at most."""
    error = float(np.max(np.abs(found - exact) / exact))
    return f"{min(16.0, -math.log10(max(error, 1e-16))):.1f}"


if __name__ == "__main__":
    main()
