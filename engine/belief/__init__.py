"""Exact belief over all sets of causes: the network, the passes over it, and sets drawn or listed from it."""
