"""Printed charts as data: planning them, measuring them."""
