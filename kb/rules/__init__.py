"""Rules beyond types: what would make the knowledge useless, unsafe or unclear."""
