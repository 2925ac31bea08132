"""Alarm lifecycle, phases and suppression: edges in, events out."""
