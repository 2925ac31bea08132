"""One file for each way an instrument talks."""
