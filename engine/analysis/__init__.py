"""What the knowledge can tell apart, and how much its numbers matter."""
