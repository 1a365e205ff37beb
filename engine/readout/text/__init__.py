"""Codes and values as people type or print them."""
