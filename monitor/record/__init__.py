"""The run folder: input log, journal, rebuildable files."""
