"""What stands on paper: sentences, captions, answers, hazards, and the room they take."""
