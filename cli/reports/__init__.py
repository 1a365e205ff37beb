"""Reports as text: explanations, the knowledge, learning, rehearsal, the hand-over card, charts."""
