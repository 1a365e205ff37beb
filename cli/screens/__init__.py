"""What a step looks like: lines of text for each audience; nothing is printed here."""
