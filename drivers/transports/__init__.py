"""The only code that holds a port, a socket or a session."""
