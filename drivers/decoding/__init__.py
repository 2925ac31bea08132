"""Frames and payloads to numbers, without I/O."""
