"""Bytes to frames, without I/O."""
