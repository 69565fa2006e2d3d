"""What happened in trials, step by step."""
