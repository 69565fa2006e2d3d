"""What the site has written down: files of progress, the log and the wind, and what they say of the plan."""
