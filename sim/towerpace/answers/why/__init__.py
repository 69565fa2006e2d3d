"""Why the finish is late: critical chains, one trial in words, its site diary."""
