"""Where the time went: every minute of every step under one cause, and the book of fronts."""
