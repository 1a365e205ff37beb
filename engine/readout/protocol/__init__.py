"""Bytes and text of a scan tool turned into messages: framing, checksums, services, parameters."""
