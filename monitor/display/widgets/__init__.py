"""Qt widgets that show state and decide nothing."""
