"""What it is worth to know an uncertain number before choosing between set-ups."""
