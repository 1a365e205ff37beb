"""What follows from the knowledge: belief, decisions, the walk, the case log. Pure but for the log."""
