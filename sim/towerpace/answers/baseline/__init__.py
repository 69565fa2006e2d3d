"""A baseline: dates of all work at a confidence, its logic and float, and the chance of keeping all of it."""
