"""Which set-up to choose: paired comparison, sequential selection, additions."""
