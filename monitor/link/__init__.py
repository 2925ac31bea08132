"""Messages between engine and display; pure."""
