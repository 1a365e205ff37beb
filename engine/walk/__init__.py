"""One guided conversation: which step comes next, the advice, the closing, and why."""
