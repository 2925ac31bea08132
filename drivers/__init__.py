"""The wire: bytes and messages in, blocks of raw readings out. Runs without ``monitor``."""
