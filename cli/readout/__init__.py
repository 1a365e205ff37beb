"""A readout at the keyboard: the adapter, the live car, and how it gets into a case."""
