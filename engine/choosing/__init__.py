"""What to do next and what it is worth: value of information, order of repairs, look-ahead."""
