"""What the finish would have been without some events, on the same draws, conditioned on the record."""
