"""Closed cases turned into revised numbers, with what speaks for each."""
