"""The program's version: records name it."""

VERSION = "0.1.0"
"""The one place that holds it; packaging reads it from here."""
