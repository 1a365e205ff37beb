"""One car's comeback as an append-only list of events, and what the list amounts to."""
