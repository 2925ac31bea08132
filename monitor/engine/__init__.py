"""Process 1: drivers, pipeline, record, link server."""
