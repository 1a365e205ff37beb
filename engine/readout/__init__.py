"""What the car says of itself: a scan tool's bytes or a person's text, turned into findings."""
