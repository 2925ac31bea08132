"""Colours by meaning and the one style sheet."""
