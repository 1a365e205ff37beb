"""Pages drawn: Graphviz, its labels, and the sheet of paper."""
