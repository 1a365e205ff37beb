"""A shop's own files beside the shipped ones."""
