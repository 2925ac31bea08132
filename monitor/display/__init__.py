"""Process 2: the screen."""
