"""Strict YAML: plain data that remembers its place, and slips said in a trainer's words."""
