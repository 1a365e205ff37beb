"""Simulated comebacks, walked from the phone to the closed case, beside other ways to work."""
