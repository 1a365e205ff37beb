"""Which checks to make before the keys go back."""
