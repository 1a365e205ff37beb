"""A decision graph laid out as pages of steps and exits."""
