"""Why the finish is late: controlling chains, one trial in words, its site diary."""
