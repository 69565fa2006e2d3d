"""What to decide: a search over set-ups that play on common draws, and what is shown of its choice."""
