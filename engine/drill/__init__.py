"""A hidden cause, a trainee's steps, and what they were worth."""
