"""Raw readings to values: convert, filter, compute."""
