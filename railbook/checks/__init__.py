"""What the code demands, what was found, and what to do about it."""
