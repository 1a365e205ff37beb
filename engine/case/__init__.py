"""One car's comeback as an append-only list of events, and its state after them."""
