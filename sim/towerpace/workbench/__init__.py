"""The page to work at: a server on the user's own machine, two players that answer it, and the page itself.

A change of the page is a generation. The players play every second trial of the newest one and stop between
two trials when a newer comes; the desk keeps the trials and says what they tell so far.
"""
