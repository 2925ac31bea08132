"""Published formulas as pure functions; they know no channel."""
