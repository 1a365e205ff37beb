"""Cases as lists and records to keep, and looking after the case log."""
