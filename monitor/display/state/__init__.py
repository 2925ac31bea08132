"""What the screen shows, decided without Qt."""
