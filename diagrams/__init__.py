"""What it looks like on paper: pages, Graphviz, and the text twin."""
