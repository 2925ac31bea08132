"""The stand file: load, check, compile to a plan."""
