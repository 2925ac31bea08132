"""Recorded readings through changed limits: what would have differed, and what fits."""
