"""The ladders of a service as one file to tap through, without network or server."""
