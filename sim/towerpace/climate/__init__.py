"""Weather as the site meets it: a real record, hours drawn from it, wind at height, limits.

A record is read once (`record`) and laid onto the clock of the site (`clock`); a trial takes rows of it, by
blocks or as they came (`generate`), which become the hours of the project (`hours`); a limit at a height
(`height`, `limits`) turns the hours into the minutes at which work must stop.
"""
