"""Small pictures of figures."""
