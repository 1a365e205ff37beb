"""A walk compiled for every answer, and what paper says where it stops."""
