"""What a search beside the page tells on its line, kept to be looked at."""

from __future__ import annotations


class Line:
    """Keeps what is told on it."""

    def __init__(self):
        self.told = []

    def send(self, told):
        self.told.append(told)
